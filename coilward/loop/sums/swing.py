"""Whether the valve's own rule makes the loop swing: the coil as plug flow, moved now and then.

After a change of flow each parcel of water has spent part of its way at the old one, so that the
outlet goes to its new rise evenly over one transit; the thermometer follows with its lag.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from coilward.loop.model import Throttle

Numbers = NDArray[np.float64]

SETTLED_LAGS = 6.0
"""After a transit and so many lags nothing is left to come."""


MOVE_S = 10.0
SETTLE_S = 7.0
"""A slow valve is left to arrive, and its answer to be judged, before it is moved again."""


def move_every_s(travel_s: float) -> float:
    """Time between two moves of a valve that takes ``travel_s`` from shut to open."""
    return max(MOVE_S, travel_s + SETTLE_S)


class Rule(NamedTuple):
    """The valve's PI rule at one flow."""

    share: float
    """Of the flow, for an error as large as the rise."""
    reset_s: float


def rule_at(
    settings: Throttle, flow_lpm: float, open_lpm: float, coil_l: float, lag_s: float
) -> Rule:
    """What the settings come to at a flow; ``open_lpm`` is that of the open valve."""
    throttled = max(open_lpm / flow_lpm - 1.0, 0.0)
    return Rule(
        settings.gain + settings.gain_slope * throttled,
        settings.reset_transits * 60.0 * coil_l / flow_lpm + settings.reset_lags * lag_s,
    )


def outlet_step(time_s: Numbers, transit_s: float, lag_s: float) -> Numbers:
    """Share of the outlet's change that a thermometer shows after a step of the flow."""

    def ramp(at_s: Numbers) -> Numbers:
        at_s = np.maximum(at_s, 0.0)
        behind_s = lag_s * -np.expm1(-at_s / lag_s) if lag_s > 0.0 else 0.0 * at_s
        return (at_s - behind_s) / transit_s

    return ramp(time_s) - ramp(time_s - transit_s)


def sampled_step(transit_s: float, lag_s: float, every_s: float) -> Numbers:
    """The same at each move of the valve, until it has settled; the first is the step itself."""
    moves = int((transit_s + SETTLED_LAGS * lag_s) / every_s) + 2
    times_s: Numbers = every_s * np.arange(moves + 1, dtype=np.float64)
    return outlet_step(times_s, transit_s, lag_s)


def largest_pole(step: Numbers, gain: float, every_over_reset: float) -> float:
    """Magnitude of the closed loop's largest pole; from 1 on the loop swings by itself.

    ``step`` is the answer to a unit step at each move, ``gain`` the controller's. The rule moves
    by gain (e - e_before + e every/reset); what is told now is seen at the next move.
    """
    pulse = np.diff(step, prepend=0.0)
    rule = gain * np.array([1.0 + every_over_reset, -1.0])
    polynomial: Any = np.convolve(rule, pulse)
    polynomial[:2] += (1.0, -1.0)
    return float(np.abs(np.roots(polynomial)).max())
