"""The working range of a loop's valve, and its answer at every place of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.constants import Constants
from coilward.controller.valve import LEAST_RISE_K
from coilward.loop.derived import Derived
from coilward.loop.model import Loop, Throttle
from coilward.loop.sums import swing
from coilward.tuning.identify import Process, Ultimate, fit_relay, fit_step
from coilward.tuning.margins import Margins, margins
from coilward.tuning.simc import Pi
from coilward.tuning.stand import Place, Stand, stroke_for

Numbers = NDArray[np.float64]

FLOWS: Final = 6
HEATS: Final = 3
SMALL: Final = 0.3
"""The smallest fire, as a share of the nominal (common practice, no source)."""
FROM_STOP, TO_OPEN = 1.12, 0.9
"""How near the range's ends a flow can be moved to both sides."""
STEP: Final = 0.1
"""Each way, of the flow: small against the curve of the valve, large against its least move."""
SETTLING_LAGS: Final = 8.0
BAND_K: Final = 0.02
"""Of a relay test without noise."""
RELAY_LAGS: Final = 3.0
"""Length of a relay test over that of a step test."""


class Answer(NamedTuple):
    """What the outlet does after the flow's target has risen by a litre a minute."""

    place: Place
    step: Numbers
    """K at each move, counted so that it is positive where more flow cools."""
    rise_k: float
    """As the thermometers show it."""


def places(loop: Loop, derived: Derived) -> list[Place]:
    """Flows from the stop to fully open; at each, heats with which the outlet is at its set-point.

    The tank that goes with a heat has to lie between cold and where the largest fire settles it;
    a flow that no such tank needs is taken with the heat that comes nearest.
    """
    low_lpm = FROM_STOP * max(derived.flow_stop_lpm, derived.flow_least_lpm)
    found = []
    for flow_lpm in np.geomspace(low_lpm, TO_OPEN * derived.flow_open_lpm, FLOWS):
        stream_w_k = float(flow_lpm) * derived.water_w_per_lpm_k
        most_w = stream_w_k * (derived.set_point_c - loop.tank.start_c)
        least_w = stream_w_k * (derived.set_point_c - derived.settled.largest.tank_c)
        fires_w = (1e3 * SMALL * loop.fire.nominal_kw, 1e3 * loop.fire.largest_kw)
        first_w, last_w = (float(np.clip(each, *fires_w)) for each in (least_w, most_w))
        for heat_w in np.unique(np.linspace(first_w, last_w, HEATS).round(6)):
            tank_c = derived.set_point_c - float(heat_w) / stream_w_k
            found.append(Place(float(flow_lpm), float(heat_w), tank_c))
    return found


def lasting_s(place: Place, constants: Constants) -> float:
    """Time after which a step of the flow has been answered."""
    transit_s = 60.0 * constants.water.coil_l / place.flow_lpm
    slowest_s = constants.water.lag_s + constants.throttling.every_s
    return 2.0 * transit_s + SETTLING_LAGS * slowest_s


def answer(
    loop: Loop, derived: Derived, constants: Constants, place: Place,
    deviations: Sequence[float] | None = None,
) -> Answer:  # fmt: skip
    """The answer at a place, free of noise, on a plant that may be off its file.

    The valve moves at the last tick before the thermometers convert: nowhere else in a second are
    readings older when it moves again.
    """
    stand = Stand(loop, derived, constants, place, deviations=deviations)
    lasts_s = lasting_s(place, constants)
    before_lpm, after_lpm = (1.0 - STEP) * place.flow_lpm, (1.0 + STEP) * place.flow_lpm
    before = stand.flow_to(before_lpm, math.ceil(lasts_s) - constants.tick_s)
    after = stand.flow_to(after_lpm, lasts_s)
    rhythm = round(constants.throttling.every_s)
    step = (before.outlet_c[-1] - after.outlet_c[::rhythm]) / (after_lpm - before_lpm)
    rise_k = before.outlet_c[-1] - before.tank_c[-1] + after.outlet_c[-1] - after.tank_c[-1]
    return Answer(place, step, 0.5 * float(rise_k))


def rule_at(answered: Answer, settings: Throttle, constants: Constants) -> Pi:
    """The board's rule there, in L/min a kelvin and seconds."""
    flow_lpm, water = answered.place.flow_lpm, constants.water
    rule = swing.rule_at(settings, flow_lpm, water.open_lpm, water.coil_l, water.lag_s)
    return Pi(rule.share * flow_lpm / max(answered.rise_k, LEAST_RISE_K), rule.reset_s)


def robustness(answered: Answer, settings: Throttle, constants: Constants) -> Margins:
    """Margins of the loop there with those settings."""
    rule = rule_at(answered, settings, constants)
    return margins(answered.step, constants.throttling.every_s, rule)


class Identified(NamedTuple):
    """The same place as a person would measure it: through noise, with the valve in the hand."""

    place: Place
    rise_k: float
    """Before the step."""
    mean_lpm: float
    """Flow that goes with that rise and a step of this size: the one after it."""
    process: Process
    relay: Ultimate | None
    """None where the relay found no steady swing."""
    time_s: Numbers
    outlet_k: Numbers
    """The step's answer, from the moment of the step."""


def identify(
    loop: Loop, derived: Derived, constants: Constants, place: Place, seed: int
) -> Identified:
    """A step test and a relay test at one place. The valve arrives from its closed side."""
    low = stroke_for((1.0 - STEP) * place.flow_lpm, constants) - loop.valve.backlash
    high = stroke_for((1.0 + STEP) * place.flow_lpm, constants)
    lasts_s = lasting_s(place, constants)
    stand = Stand(loop, derived, constants, place, seed=seed)
    before, after = stand.stroke_to(low, lasts_s), stand.stroke_to(high, lasts_s)
    settled = before.outlet_c[len(before.outlet_c) // 2 :]
    moved_lpm = float(after.flow_lpm[-1] - before.flow_lpm[-1])
    process = fit_step(
        after.time_s, after.outlet_c, float(settled.mean()), moved_lpm, constants.water.lag_s
    )
    stand = Stand(loop, derived, constants, place)
    middle_c = 0.5 * sum(
        float(stand.stroke_to(stroke, lasts_s).outlet_c[-1]) for stroke in (high, low)
    )
    swung = stand.relay(middle_c, (low, high), BAND_K, RELAY_LAGS * lasts_s)
    relay = fit_relay(swung.time_s, swung.outlet_c, swung.flow_lpm)
    rise_k = float(settled.mean() - before.tank_c[-1])
    return Identified(
        place, rise_k, float(after.flow_lpm[-1]), process, relay, after.time_s,
        after.outlet_c - settled.mean(),
    )  # fmt: skip
