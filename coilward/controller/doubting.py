"""Once a second: which readings can't be true. The rules stand in `plausibility.RULES`."""

from __future__ import annotations

from coilward.controller.causing import installed_lpm
from coilward.controller.constants import Constants, share_of
from coilward.controller.estimating import Estimate
from coilward.controller.plausibility import (
    AIR_FOUL,
    FLOW_ODD,
    GUARD_LOST,
    OUTLET_A_FROZEN,
    OUTLET_B_FROZEN,
    OUTLET_LOW,
    OUTLET_UNMOVED,
    RESIDUAL,
    RESIDUAL_LASTS,
    TANK_FROZEN,
    Doubt,
)
from coilward.controller.reckoned import SECOND_S
from coilward.controller.sensing import Seen, follow, in_range
from coilward.controller.state import NO, YES, Control, Watch
from coilward.controller.types import Readings

CALM_SHARE, CALM_K = share_of(60.0, SECOND_S), 1.0
FROZEN_S, TANK_FROZEN_S = 120.0, 300.0
FOLLOWS_S = 30.0
"""A thermometer's time to follow its neighbour."""
RESIDUAL_LONG_S = 720.0
"""The row's own two minutes, and ten more."""
RISE_SHARE = share_of(30.0, SECOND_S)
WATCHED_S, UNMOVED_K, FLUE_MOVED_K = 600.0, 0.3, 50.0
PUMP_SETTLED_S = 30.0
FOUL_PPM, FOUL_S = 30.0, 300.0


def guard_lost(readings: Readings, seen: Seen, fire: int, constants: Constants) -> bool:
    """Whether a fitted channel that guards, but that no vote rests on, does not answer.

    A radiator without a fire may be colder than any water.
    """
    fitted = constants.fitted
    return (
        (fitted.damper_switch and readings.damper_shut != readings.damper_shut)
        or (fitted.co and readings.co_ppm != readings.co_ppm)
        or (fitted.smoke and readings.smoke != readings.smoke)
        or (fitted.vent and readings.vent_wet != readings.vent_wet)
        or (fitted.line and readings.line_min_c != readings.line_min_c)
        or (fitted.flue and readings.flue_c != readings.flue_c)
        or (fire != NO and fitted.radiator_inlet and not in_range(readings.radiator_inlet_c))
        or (fire != NO and fitted.radiator_outlet and not seen.radiator_known)
    )


def neighbour_c(readings: Readings, other_c: float, constants: Constants) -> float:
    """What should move with an outlet thermometer: the other one, the radiator's inlet, the metal.

    NaN without any.
    """
    if in_range(other_c):
        return other_c
    if constants.fitted.radiator_inlet:
        return readings.radiator_inlet_c
    return readings.coil_metal_c if constants.fitted.metal else float("nan")


def same_s(lasted_s: float, beside_c: float, near_c: float, constants: Constants) -> float:
    """How long a thermometer has read the same, a second later.

    Short of what makes it frozen until its neighbour has moved, and then has its time to follow.
    """
    lasted_s = lasted_s + SECOND_S
    moved = abs(beside_c - near_c) >= constants.truth.neighbour_moves_k
    if not moved and lasted_s > FROZEN_S - FOLLOWS_S:
        return FROZEN_S - FOLLOWS_S
    return lasted_s


def residual_bits(
    readings: Readings, seen: Seen, now: Estimate, doubt: Doubt, constants: Constants
) -> int:
    """Rules 3 and 6. Water that is not calm is no evidence: what was suspected stands."""
    truth, reckoned = constants.truth, constants.reckoned
    bits = 0
    if now.proven_now and doubt.slow_rise_k < -reckoned.low_rise_k:
        bits |= OUTLET_LOW
    if not constants.fitted.radiator_inlet:
        return bits
    gap_k = doubt.slow_outlet_c - doubt.slow_inlet_c
    calm = (
        now.proven_now
        and seen.steady
        and abs(seen.outlet_c - doubt.slow_outlet_c) < CALM_K
        and abs(readings.radiator_inlet_c - doubt.slow_inlet_c) < CALM_K
    )
    if not calm:
        return bits | (doubt.suspects & (RESIDUAL | OUTLET_LOW))
    # Both sides times the stream: where a dead meter shows none, nothing is divided by it.
    loss_w = truth.hot_w_k * (seen.outlet_c - truth.hot_air_c)
    stream_w_k = constants.water.w_per_lpm_k * seen.flow_lpm
    if (gap_k - reckoned.gap_k) * stream_w_k > loss_w:
        bits |= RESIDUAL
    if gap_k < -reckoned.gap_k:
        bits |= RESIDUAL | OUTLET_LOW
    return bits


def flow_is_odd(
    readings: Readings, seen: Seen, control: Control, watch: Watch, constants: Constants
) -> bool:
    """Rule 9: the flow is not what this valve and this supply should give."""
    reckoned = constants.reckoned
    if not (seen.flow_good and seen.steady) or watch.pump_on_s < PUMP_SETTLED_S:
        return False
    if control.moved_s < reckoned.valve_settles_s:
        return False
    play, supply_v = constants.valve.backlash, readings.supply_v
    least_lpm = reckoned.curve_low_v * supply_v * installed_lpm(control.valve - play, constants)
    most_lpm = reckoned.curve_high_v * supply_v * installed_lpm(control.valve + play, constants)
    return seen.flow_lpm < least_lpm or seen.flow_lpm > most_lpm


def doubted(
    readings: Readings, seen: Seen, now: Estimate, doubt: Doubt, control: Control, watch: Watch,
    constants: Constants,
) -> Doubt:
    """All rules that need time, one second later."""
    fitted, truth = constants.fitted, constants.truth
    burning = now.proven and now.fire == YES
    suspects = 0

    raw_a_c, raw_b_c = readings.coil_outlet_a_c, readings.coil_outlet_b_c
    beside_a_c = neighbour_c(readings, raw_b_c if fitted.outlet_b else float("nan"), constants)
    same_a_s, near_a_c = 0.0, beside_a_c
    if raw_a_c == doubt.raw_a_c:
        near_a_c = doubt.near_a_c
        same_a_s = same_s(doubt.same_a_s, beside_a_c, near_a_c, constants)
        if same_a_s >= FROZEN_S:
            suspects |= OUTLET_A_FROZEN
    beside_b_c = neighbour_c(readings, raw_a_c, constants)
    same_b_s, near_b_c = 0.0, beside_b_c
    if fitted.outlet_b and raw_b_c == doubt.raw_b_c:
        near_b_c = doubt.near_b_c
        same_b_s = same_s(doubt.same_b_s, beside_b_c, near_b_c, constants)
        if same_b_s >= FROZEN_S:
            suspects |= OUTLET_B_FROZEN
    raw_tank_c = readings.tank_c
    same_tank_s = 0.0
    if truth.tank_fidgets and raw_tank_c == doubt.raw_tank_c:
        same_tank_s = doubt.same_tank_s + SECOND_S
        if same_tank_s >= TANK_FROZEN_S and burning:
            suspects |= TANK_FROZEN

    slow_outlet_c = follow(doubt.slow_outlet_c, seen.outlet_c, CALM_SHARE)
    slow_inlet_c = follow(doubt.slow_inlet_c, readings.radiator_inlet_c, CALM_SHARE)
    residual_s = 0.0
    if burning:
        suspects |= residual_bits(readings, seen, now, doubt, constants)
        if suspects & RESIDUAL:
            residual_s = doubt.residual_s + SECOND_S
            if residual_s >= RESIDUAL_LONG_S:
                suspects |= RESIDUAL_LASTS

    slow_rise_k = follow(doubt.slow_rise_k, now.rise_k, RISE_SHARE)
    rise_low_k, rise_high_k = slow_rise_k, slow_rise_k
    flue_low_c, flue_high_c = readings.flue_c, readings.flue_c
    watched_s = 0.0
    if burning and fitted.flue:
        suspects |= doubt.suspects & OUTLET_UNMOVED
        watched_s = doubt.watched_s + SECOND_S
        if doubt.rise_low_k < rise_low_k:
            rise_low_k = doubt.rise_low_k
        if doubt.rise_high_k > rise_high_k:
            rise_high_k = doubt.rise_high_k
        if doubt.flue_low_c < flue_low_c:
            flue_low_c = doubt.flue_low_c
        if doubt.flue_high_c > flue_high_c:
            flue_high_c = doubt.flue_high_c
        if watched_s >= WATCHED_S:
            suspects &= ~OUTLET_UNMOVED
            if rise_high_k - rise_low_k < UNMOVED_K and flue_high_c - flue_low_c > FLUE_MOVED_K:
                suspects |= OUTLET_UNMOVED
            rise_low_k, rise_high_k = slow_rise_k, slow_rise_k
            flue_low_c, flue_high_c = readings.flue_c, readings.flue_c
            watched_s = 0.0

    if flow_is_odd(readings, seen, control, watch, constants):
        suspects |= FLOW_ODD
    if guard_lost(readings, seen, now.fire, constants):
        suspects |= GUARD_LOST
    foul_s = 0.0
    if fitted.co:
        if readings.co_ppm >= FOUL_PPM:
            foul_s = doubt.foul_s + SECOND_S
        elif readings.co_ppm != readings.co_ppm:
            foul_s = doubt.foul_s
        if foul_s >= FOUL_S:
            suspects |= AIR_FOUL
    return Doubt(
        suspects, slow_outlet_c, slow_inlet_c, slow_rise_k, raw_a_c, same_a_s, near_a_c, raw_b_c,
        same_b_s, near_b_c, raw_tank_c, same_tank_s, residual_s, rise_low_k, rise_high_k,
        flue_low_c, flue_high_c, watched_s, foul_s,
    )
