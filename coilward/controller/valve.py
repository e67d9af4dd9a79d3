"""The valve in the run phase: the outlet's temperature through the flow.

A PI rule in velocity form moves a flow target once in ten seconds (later for a slow valve);
its gain and reset time follow the flow, because the loop's gain and lag both grow as the flow
falls:

    Kc = (gain + gain_slope (V_open / V - 1)) V / (T_out - T_tank)
    Ti = reset_transits V_coil / V + reset_lags tau_sensor

The numbers are the loop file's; where it gives none the gain is 1/4 at any flow, and the times
are 1/2 and 1.
The target is clamped between the minimum flow of the moment with its reserve and what the
loop can give. The integral is the clamped target itself, so it cannot wind up, and entering
the phase takes over the present flow, so it cannot bump. The stroke follows from the flow
that is measured and the slope of the installed curve; moves toward shut go past their goal
by the backlash and come back, so that the valve always arrives from the closed side.
"""

from __future__ import annotations

from typing import NamedTuple

from coilward.controller.causing import installed_lpm
from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate
from coilward.controller.sensing import Seen
from coilward.controller.state import Control

HURRY_S = 2.0
LEAST_RISE_K = 5.0
"""A smaller rise is too uncertain to reckon a gain with."""
RESERVE = 1.15
"""Of the minimum flow."""
LEAST_MOVE = 0.005
"""A smaller move of the stroke is not worth the servo's while."""
PASS_S = 1.0
"""Time for which a closing move stands beyond its goal."""


class Throttle(NamedTuple):
    """Valve loop after a tick."""

    target_lpm: float
    error_k: float
    moved_s: float
    valve: float
    closing: bool


REST = Throttle(0.0, 0.0, 0.0, 1.0, False)
"""The valve loop outside the run phase."""


def lowest_lpm(now: Estimate, constants: Constants) -> float:
    """The clamp: minimum flow with reserve, never under what the stop passes."""
    water = constants.water
    low_lpm = RESERVE * now.min_lpm
    if low_lpm < water.stop_lpm:
        low_lpm = water.stop_lpm
    return low_lpm


def throttle(
    entering: bool, busy: bool, seen: Seen, now: Estimate, control: Control, constants: Constants
) -> Throttle:
    """One tick of the valve loop in the run phase; a busy tick has no time for a move."""
    high_lpm = constants.water.open_lpm
    low_lpm = lowest_lpm(now, constants)
    error_k = seen.outlet_c - constants.limits.set_point_c
    moved_s = control.moved_s + constants.tick_s
    known = error_k == error_k and seen.tank_c == seen.tank_c and seen.flow_good
    if constants.valve.always_open or low_lpm >= high_lpm or not known:
        return Throttle(high_lpm, 0.0, moved_s, 1.0, False)
    target_lpm, was_k = control.target_lpm, control.error_k
    if entering:
        target_lpm, was_k, moved_s = seen.flow_lpm, error_k, 0.0
    hurry = target_lpm < low_lpm
    rule, reckoned = constants.throttling, constants.reckoned
    every_s = rule.every_s
    if busy or moved_s < (HURRY_S if hurry else every_s):
        return Throttle(target_lpm, was_k, moved_s, control.valve, control.closing)

    rise_k = now.rise_k if now.rise_k > LEAST_RISE_K else LEAST_RISE_K
    unused_lpm = high_lpm - seen.flow_lpm
    if unused_lpm < 0.0:
        unused_lpm = 0.0
    gain = (rule.gain * seen.flow_lpm + rule.gain_slope * unused_lpm) / rise_k
    reset_s = rule.reset_transits * seen.transit_s + reckoned.reset_lag_s
    if abs(error_k) > rule.dead_band_k or abs(error_k - was_k) > rule.dead_band_k:
        target_lpm = target_lpm + gain * (error_k - was_k + error_k * every_s / reset_s)
    if target_lpm < low_lpm:
        target_lpm = low_lpm
    if target_lpm > high_lpm:
        target_lpm = high_lpm

    stroke = control.valve
    more_lpm = installed_lpm(stroke + 0.125, constants)
    less_lpm = installed_lpm(stroke - 0.125, constants)
    slope = 4.0 * (more_lpm - less_lpm)
    if slope < reckoned.least_slope_lpm:
        slope = reckoned.least_slope_lpm
    step = (target_lpm - seen.flow_lpm) / slope
    if step > 0.2:
        step = 0.2
    if step < -0.2:
        step = -0.2
    # The band never keeps a flow under the clamp, nor the last of a flow that is wanted whole.
    near = abs(target_lpm - seen.flow_lpm) < rule.flow_band * seen.flow_lpm
    if abs(step) < LEAST_MOVE or (near and low_lpm <= seen.flow_lpm and target_lpm < high_lpm):
        return Throttle(target_lpm, error_k, 0.0, stroke, False)
    stroke = stroke + step
    if stroke > 1.0:
        stroke = 1.0
    if stroke < constants.valve.stop:
        stroke = constants.valve.stop
    return Throttle(target_lpm, error_k, 0.0, stroke, step < 0.0)


def output_stroke(loop: Throttle, constants: Constants) -> float:
    """What the servo is told: past the goal at first on the way shut."""
    if loop.closing and loop.moved_s < PASS_S:
        return loop.valve - constants.valve.backlash
    return loop.valve
