"""From records to numbers: gain, lag and delay by least squares, and once more by a relay.

The model of the outlet's answer to the flow is a delay, the water's lag and the thermometer's
lag, which the loop file states:

    K exp(-s delay) / ((lag s + 1) (thermometer s + 1))
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, curve_fit
from scipy.stats import t as student

Numbers = NDArray[np.float64]

FIRST_SHARE, SECOND_SHARE = 0.283, 0.632
"""Shares of a step's answer after a third of the lag, and after the whole of it."""
CONFIDENCE: Final = 0.95
LAST_SWINGS: Final = 4
"""Full swings at the end of a relay test that are measured."""


class Known(NamedTuple):
    """A number, and half the width of its 95 % confidence interval."""

    value: float
    within: float


class Process(NamedTuple):
    """The answer of an outlet to a flow."""

    gain: Known
    """K in a litre a minute; negative, because more water is cooler water."""
    lag_s: Known
    delay_s: Known
    thermometer_s: float
    """Taken from the loop file."""


class Ultimate(NamedTuple):
    """Where the process swings by itself under a proportional controller."""

    gain: float
    """L/min in a kelvin."""
    period_s: float


def two_point(time_s: Numbers, share: Numbers) -> tuple[float, float]:
    """Lag and delay from two points of a step's answer, s; a start for the fit.

    lag = 1.5 (t63 - t28), delay = t63 - lag.
    """
    first_s = float(time_s[np.argmax(share >= FIRST_SHARE)])
    second_s = float(time_s[np.argmax(share >= SECOND_SHARE)])
    lag_s = 1.5 * (second_s - first_s)
    return lag_s, max(second_s - lag_s, 0.0)


def modelled(time_s: Numbers, lag_s: float, thermometer_s: float, delay_s: float) -> Numbers:
    """Share of the answer that is there, by the model."""
    after_s = np.maximum(time_s - delay_s, 0.0)
    if thermometer_s <= 0.0:
        return -np.expm1(-after_s / lag_s)
    if abs(lag_s - thermometer_s) < 1e-3 * thermometer_s:
        lag_s = 1.001 * thermometer_s
    slow, quick = np.exp(-after_s / lag_s), np.exp(-after_s / thermometer_s)
    share: Numbers = 1.0 - (lag_s * slow - thermometer_s * quick) / (lag_s - thermometer_s)
    return share


def fit_step(
    time_s: Numbers, outlet_c: Numbers, before_c: float, moved_lpm: float, thermometer_s: float
) -> Process:
    """The process that fits a step of the flow at time zero best, with its intervals.

    What a model leaves over is not noise alone: neighbours in the record are alike. The intervals
    are widened by the square root of (1 + r)/(1 - r), r the likeness of neighbours (Bayley and
    Hammersley 1946, the effective number of independent observations).
    """
    come_k = outlet_c[-1] - before_c
    lag_s, delay_s = two_point(time_s, (outlet_c - before_c) / come_k)
    start = (before_c, come_k, max(lag_s - thermometer_s, 2.0), max(delay_s, 0.5))

    def answer(at_s: Any, base_c: float, gain_k: float, lag_s: float, delay_s: float) -> Any:
        return base_c + gain_k * modelled(at_s, lag_s, thermometer_s, delay_s)

    bounds = ([-math.inf, -math.inf, 0.1, 0.0], [math.inf, math.inf, 1e4, float(time_s[-1])])
    found, covariance = curve_fit(answer, time_s, outlet_c, p0=start, bounds=bounds)
    left = outlet_c - answer(time_s, *found)
    alike = float(left[1:] @ left[:-1] / (left @ left)) if left @ left > 0.0 else 0.0
    alike = min(max(alike, 0.0), 0.99)
    wide = student.ppf(0.5 + 0.5 * CONFIDENCE, len(time_s) - len(found))
    within = wide * np.sqrt(np.diag(covariance) * (1.0 + alike) / (1.0 - alike))
    return Process(
        Known(float(found[1]) / moved_lpm, float(within[1] / abs(moved_lpm))),
        Known(float(found[2]), float(within[2])),
        Known(float(found[3]), float(within[3])),
        thermometer_s,
    )


def ultimate_of(process: Process) -> Ultimate:
    """Where a fitted process would swing by itself."""
    lag_s, delay_s = process.lag_s.value, max(process.delay_s.value, 1e-3)

    def behind(omega: float) -> float:
        return (
            omega * delay_s + math.atan(omega * lag_s) + math.atan(omega * process.thermometer_s)
            - math.pi
        )  # fmt: skip

    omega = float(brentq(behind, 1e-9, math.pi / delay_s))
    size = abs(process.gain.value) / math.sqrt(
        (1.0 + (omega * lag_s) ** 2) * (1.0 + (omega * process.thermometer_s) ** 2)
    )
    return Ultimate(1.0 / size, 2.0 * math.pi / omega)


def fit_relay(time_s: Numbers, outlet: Numbers, flow: Numbers) -> Ultimate | None:
    """Ultimate gain and period from the last swings of a relay test.

    Ku = 4 d / (pi a), d and a half of the distance between the extremes of flow and outlet. It
    takes the swing for a sine. A relay with a band swings a little slower and wider. None where
    there are too few swings.
    """
    settled = outlet[len(outlet) // 2 :]
    over = outlet > 0.5 * (settled.max() + settled.min())
    ups = np.flatnonzero(~over[:-1] & over[1:]) + 1
    if len(ups) <= LAST_SWINGS:
        return None
    first, last = ups[-1 - LAST_SWINGS], ups[-1]
    swings = slice(first, last)
    period_s = float(time_s[last] - time_s[first]) / LAST_SWINGS
    amplitude = 0.5 * float(np.ptp(outlet[swings]))
    moved = 0.5 * float(np.ptp(flow[swings]))
    return Ultimate(4.0 * moved / (math.pi * amplitude), period_s)
