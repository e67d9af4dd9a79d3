"""From settings at every place to the few numbers of the loop file."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.optimize import linprog, nnls

from coilward.controller.constants import Constants
from coilward.loop.editing import Change
from coilward.loop.model import Loop, Throttle
from coilward.tuning.simc import half_rule, simc_pi
from coilward.tuning.working import Identified

SIGMAS: Final = 3.0
"""A band of so many standard deviations: noise alone leaves it once in 370 looks."""
LEAST_DEAD_BAND_K: Final = 0.5
SHORTEST_TRANSITS: Final = 0.05
DIGITS: Final = 3


def scheduled(
    loop: Loop, constants: Constants, found: Sequence[Identified], slower: float,
    band_k: float | None = None,
) -> Throttle:  # fmt: skip
    """Skogestad's settings at every place, and the loop file's numbers that stay within them.

    ``slower`` is the closed loop's time constant over the delay; 1 is the rule's tight answer.
    Half of the time between moves counts as delay. The gain is the largest that is nowhere over
    the rule's; the reset time the nearest in the mean of squares. ``band_k`` is the dead band, else
    it is as wide as the thermometers' noise asks.
    """
    rows, gains, resets_s = [], [], []
    for each in found:
        process = each.process
        lag_s, delay_s = half_rule(
            [process.lag_s.value, process.thermometer_s],
            process.delay_s.value + 0.5 * constants.throttling.every_s,
        )
        pi = simc_pi(abs(process.gain.value) / lag_s, lag_s, delay_s, slower * delay_s)
        flow_lpm = each.place.flow_lpm
        rows.append((flow_lpm, 60.0 * constants.water.coil_l / flow_lpm))
        gains.append(pi.gain * each.rise_k / each.mean_lpm)
        resets_s.append(pi.reset_s)
    flows_lpm, transits_s = np.array(rows).T
    throttled = np.maximum(constants.water.open_lpm / flows_lpm - 1.0, 0.0)
    columns = np.column_stack((np.ones_like(throttled), throttled))
    best = linprog(-columns.sum(axis=0), columns, gains, bounds=[(0.02, 4.0), (0.0, 2.0)])
    lags_s = np.full_like(transits_s, constants.water.lag_s)
    (transits, lags), _ = nnls(np.column_stack((transits_s, lags_s)), np.array(resets_s))
    return Throttle.model_validate(
        {
            "gain": down(best.x[0]),
            "gain_slope": down(best.x[1]),
            "reset_transits": round(max(float(transits), SHORTEST_TRANSITS), DIGITS),
            "reset_lags": round(float(lags), DIGITS),
            "dead_band": f"{dead_band_k(loop) if band_k is None else band_k} K",
            "flow_band": round(SIGMAS * loop.meter.noise, DIGITS),
        }
    )


def down(value: float) -> float:
    """Rounded to the digits of the file, never up."""
    return float(np.floor(value * 10**DIGITS + 1e-9) / 10**DIGITS)


def dead_band_k(loop: Loop) -> float:
    """What the outlet's thermometers show of nothing, and at least half a kelvin."""
    pair = (loop.sensors.coil_outlet_a, loop.sensors.coil_outlet_b)
    spread_k = max(
        math.hypot(sensor.noise_k, sensor.quantum_k / math.sqrt(12.0)) for sensor in pair if sensor
    )
    return round(max(SIGMAS * spread_k, LEAST_DEAD_BAND_K), DIGITS)


def keys(settings: Throttle) -> dict[str, str | float]:
    """Dotted keys of the loop file, and what is to stand there."""
    return {
        "throttle.gain": settings.gain,
        "throttle.gain_slope": settings.gain_slope,
        "throttle.reset_transits": settings.reset_transits,
        "throttle.reset_lags": settings.reset_lags,
        "throttle.dead_band": f"{settings.dead_band_k:g} K",
        "throttle.flow_band": settings.flow_band,
    }


def changes(settings: Throttle) -> list[Change]:
    """The same to be set in the text of a loop file, in full."""
    numbers = {**keys(settings), "throttle.dead_band": settings.dead_band_k}
    return [Change(key, float(number), 2 * DIGITS) for key, number in numbers.items()]
