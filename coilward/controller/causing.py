"""Which interlock causes are present in this tick: one condition a row, in table order.

Conditions on hot-side values are written "not (value < limit)", so that NaN trips. Causes
that would stop the pump ask for positive evidence instead: a missing reading never does.
All conditions hold only while a fire may be in, except the rows marked for any time.
"""

from __future__ import annotations

from coilward.controller import interlocks as row
from coilward.controller.by_hand import refused
from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate
from coilward.controller.phases import (
    BOOT,
    COLD_START,
    DRY,
    DUMP,
    FREEZE,
    MAINTENANCE,
    NO_FLOW,
    STANDBY,
)
from coilward.controller.plausibility import (
    AIR_FOUL,
    FLOW_ODD,
    GUARD_LOST,
    OUTLET_LOW,
    OUTLET_UNMOVED,
    RESIDUAL,
    RESIDUAL_LASTS,
)
from coilward.controller.sensing import Seen
from coilward.controller.state import NO, Ages, Control, Mode, Watch
from coilward.controller.types import Readings, Requests

STARTED_S = 2.0
"""A pump that was just started is not yet asked for flow."""
FREEZING_C = 1.0
THAWED_C = 2.0
CORE_FREEZING_C, CORE_THAWED_C = 3.0, 5.0
CO_PPM = 100.0
"""Loud at once, where a home alarm may wait half an hour (EN 50291 alarm points)."""
REST_LPM, REST_RISE_K = 0.3, 5.0
"""Flow of a resting loop; warmer than this over the tank it may circulate by itself."""
PEOPLE_COOLED_K = 2.0
APART_K, FAR_APART_K = 3.0, 10.0
SPINS_SHARE, SPINS_AFTER_S = 1.15, 60.0
REBOOTS_S = 600.0
HOUR_S = 3600.0
FANS_UP_S = 3.0
SHORT_S = 10.0
UNDER_S = 3.0
WEAK_S = 120.0
EVIDENCE_S = 3.0
DEAF_STROKE = 0.11
ANSWER_SHARE = 0.25


def along_lpm(i: int, stroke: float, constants: Constants) -> float:
    """On the straight line from a flow of the curve to the next."""
    return constants.valve.foot_lpm[i] + constants.valve.slope_lpm[i] * stroke


def installed_lpm(stroke: float, constants: Constants) -> float:
    """Flow at a stroke with a healthy pump, from the loop's installed valve curve."""
    if stroke <= 0.5:
        if stroke <= 0.25:
            return along_lpm(0 if stroke <= 0.125 else 1, stroke, constants)
        return along_lpm(2 if stroke <= 0.375 else 3, stroke, constants)
    if stroke <= 0.75:
        return along_lpm(4 if stroke <= 0.625 else 5, stroke, constants)
    if stroke <= 0.875:
        return along_lpm(6, stroke, constants)
    if stroke <= 1.0:
        return along_lpm(7, stroke, constants)
    return constants.valve.curve_lpm[8]


def valve_is_deaf(seen: Seen, control: Control, constants: Constants) -> bool:
    """The stroke has changed by a real step, has had its time, and the flow has not followed."""
    moved = control.valve - control.stroke_was
    if abs(moved) < DEAF_STROKE or control.moved_s < constants.reckoned.valve_answers_s:
        return False
    if not (seen.flow_good and seen.steady):
        return False
    due_lpm = installed_lpm(control.valve, constants) - installed_lpm(control.stroke_was, constants)
    if abs(due_lpm) < 0.5:
        return False
    came_lpm = seen.flow_lpm - control.flow_was_lpm
    return abs(came_lpm) < ANSWER_SHARE * abs(due_lpm)


def unjudged(readings: Readings, seen: Seen, constants: Constants) -> int:
    """Rows whose channel does not answer: what they said last stands."""
    fitted = constants.fitted
    mask = 0
    if not seen.outlet_a_ok or (fitted.outlet_b and not seen.outlet_b_ok):
        mask |= row.ON_OUTLET
    if not seen.tank_ok:
        mask |= row.ON_TANK
    if fitted.metal and seen.metal_c != seen.metal_c:
        mask |= row.ON_METAL
    if fitted.level and not (
        readings.level_low == readings.level_low
        and readings.level_low_low == readings.level_low_low
    ):
        mask |= row.ON_LEVEL
    if readings.supply_v != readings.supply_v:
        mask |= row.ON_SUPPLY
    if fitted.line and readings.line_min_c != readings.line_min_c:
        mask |= row.ON_LINE
    if fitted.current and readings.pump_a != readings.pump_a:
        mask |= row.ON_CURRENT
    if readings.co_ppm != readings.co_ppm:
        mask |= row.ON_CO
    if readings.smoke != readings.smoke:
        mask |= row.ON_SMOKE
    if readings.vent_wet != readings.vent_wet:
        mask |= row.ON_VENT
    if readings.damper_shut != readings.damper_shut:
        mask |= row.ON_DAMPER
    people_c = people_feel_c(readings, constants)
    if people_c != people_c:
        mask |= row.ON_PEOPLE
    if readings.radiator_outlet_c != readings.radiator_outlet_c:
        mask |= row.ON_RADIATOR
    return mask


def people_feel_c(readings: Readings, constants: Constants) -> float:
    """The water of a tub, else the air of the room."""
    return readings.tank_c if constants.fitted.tub else readings.room_c


def counts_at_rest(
    readings: Readings, seen: Seen, now: Estimate, control: Control, constants: Constants
) -> bool:
    """Pulses with the pump off, in a loop too cold to circulate by itself (rule 10)."""
    if control.pump or readings.pump_contact >= 0.5 or not (seen.flow_lpm > REST_LPM):
        return False
    draws = constants.fitted.current and readings.pump_a > constants.reckoned.pump_rests_a
    return not draws and not (now.rise_k > REST_RISE_K)


def clock_jumped(now: Estimate, phase: int, ages: Ages) -> bool:
    """Time ran back, or ticks were missed (rule 18); a start is no jump."""
    return (now.missed or now.gap_s < 0.0) and phase != BOOT and ages.phase_s > 0.0


def spins(seen: Seen, watch: Watch, constants: Constants) -> bool:
    """Flow and outlet go up together with nothing told to move (rule 11): steam or air."""
    return (
        seen.flow_lpm > SPINS_SHARE * seen.slow_lpm
        and seen.rising_k > constants.reckoned.outlet_spins_k
        and watch.open_s >= SPINS_AFTER_S
        and watch.pump_on_s >= SPINS_AFTER_S
        and watch.mute_s <= 0.0
    )


def causes_around(
    readings: Readings, seen: Seen, now: Estimate, control: Control, before: int,
    constants: Constants,
) -> int:
    """Rows about the house and the meter at rest, which count with the fire out too."""
    fitted = constants.fitted
    mask = 0
    if fitted.co and readings.co_ppm >= CO_PPM:
        mask |= row.CARBON_MONOXIDE
    if fitted.smoke and readings.smoke >= 0.5:
        mask |= row.SMOKE
    freezing_c = THAWED_C if before & row.LINE_FREEZING else FREEZING_C
    if fitted.line and readings.line_min_c < freezing_c:
        mask |= row.LINE_FREEZING
    if now.fire == NO and counts_at_rest(readings, seen, now, control, constants):
        mask |= row.PULSES_AT_REST
    return mask


def causes_of_parts(
    readings: Readings, phase: int, ages: Ages, control: Control, before: int,
    constants: Constants,
) -> int:
    """Rows about vent, damper, constants, people, radiator and board, while a fire may be in."""
    fitted = constants.fitted
    mask = 0
    if fitted.vent and readings.vent_wet >= 0.5:
        mask |= row.VENT_WET
    if fitted.damper_switch and not control.damper_open and readings.damper_shut < 0.5:
        mask |= row.DAMPER_OPEN
    if not (readings.constants_ok >= 0.5):
        mask |= row.CONSTANTS_BAD
    people_c = constants.limits.people_c
    if before & row.TOO_HOT_FOR_PEOPLE:
        people_c -= PEOPLE_COOLED_K
    if people_feel_c(readings, constants) >= people_c:
        mask |= row.TOO_HOT_FOR_PEOPLE
    if fitted.radiator_outlet:
        if before & row.RADIATOR_FREEZING:
            if readings.radiator_outlet_c < CORE_THAWED_C:
                mask |= row.RADIATOR_FREEZING
        elif control.fans > 0.0 and readings.radiator_outlet_c < CORE_FREEZING_C:
            mask |= row.RADIATOR_FREEZING
    if phase != BOOT and ages.reboot_3_s < REBOOTS_S:
        mask |= row.REBOOTS
    return mask


def witness_lost(readings: Readings, seen: Seen, constants: Constants) -> bool:
    """Whether a fitted channel that the logic leans on does not answer."""
    pump_a, switch = readings.pump_a, readings.flow_switch
    metal_c, level = seen.metal_c, readings.level_low_low
    everything = pump_a + switch + metal_c + level + readings.supply_v
    if everything - everything == 0.0:
        return False
    fitted = constants.fitted
    return (
        (fitted.current and pump_a != pump_a)
        or (fitted.switch and switch != switch)
        or (fitted.metal and metal_c != metal_c)
        or (fitted.level and level != level)
        or readings.supply_v != readings.supply_v
    )


def added_causes(
    readings: Readings, seen: Seen, now: Estimate, mode: Mode,  # noqa: ARG001
) -> int:
    """Rows that were added at run time: none, unless `adding` has put their conditions here."""
    return 0


def causes(
    readings: Readings, requests: Requests, seen: Seen, now: Estimate, mode: Mode, ages: Ages,
    watch: Watch, suspects: int, control: Control, hand_s: float, raised: int,
    before: int, constants: Constants,
) -> int:
    """The mask of rows whose cause is present in this tick, before any debounce.

    `raised` are the rows that counted in the last tick, `before` the causes it saw.
    """
    limits, fitted, reckoned = constants.limits, constants.fitted, constants.reckoned
    power, phase = constants.power, mode.phase
    mask = 0
    if before != 0:
        mask = before & unjudged(readings, seen, constants)
    mask |= added_causes(readings, seen, now, mode)
    if requests.emergency:
        mask |= row.EMERGENCY
    if requests.remote_unsafe or refused(requests, now, mode, hand_s):
        mask |= row.REFUSED
    mask |= causes_around(readings, seen, now, control, before, constants)
    if clock_jumped(now, phase, ages):
        mask |= row.CLOCK_JUMPED
    if suspects & AIR_FOUL:
        mask |= row.FOUL_AIR
    if suspects & GUARD_LOST or witness_lost(readings, seen, constants):
        mask |= row.WITNESS_LOST
    if now.fire == NO:
        return mask & row.ANY_TIME
    if phase in (STANDBY, FREEZE, MAINTENANCE) or (phase == COLD_START and not mode.permitted):
        mask |= row.UNPERMITTED_HEAT
    mask |= causes_of_parts(readings, phase, ages, control, before, constants)

    commanded = control.pump and (watch.pump_on_s >= STARTED_S or phase == NO_FLOW)
    if commanded and not mode.meter_dead and (not seen.flow_good or spins(seen, watch, constants)):
        mask |= row.LOW_FLOW
    suspect = ages.flow_return_s < HOUR_S and seen.flow_good and seen.second_proof
    if seen.current_bad and not suspect:
        mask |= row.PUMP_CURRENT
    if watch.mute_s <= 0.0:
        if not (seen.outlet_c < limits.outlet_dump_c):
            mask |= row.OUTLET_DUMP
        if watch.short_s >= SHORT_S or watch.under_s >= UNDER_S:
            mask |= row.FLOW_SHORT
        if not seen.flow_absent and seen.rising_k > reckoned.outlet_rises_k:
            mask |= row.OUTLET_RATE
    if not (seen.outlet_c < limits.outlet_hh_c):
        mask |= row.OUTLET_HH
    if not (seen.tank_c < limits.tank_trip_c):
        mask |= row.TANK_TRIP
    if not (seen.tank_c < limits.tank_hh_c):
        mask |= row.TANK_HH
    if seen.metal_high:
        mask |= row.METAL_HIGH
        no_flow_seen = phase in (NO_FLOW, DRY) or raised & (row.LOW_FLOW | row.PUMP_CURRENT) != 0
        if seen.metal_c > limits.metal_dry_c and not now.proven_now and no_flow_seen:
            mask |= row.METAL_DRY
    if (
        phase != BOOT
        and now.still_s > now.window_s
        and now.still_known
        and not now.evidence
    ):
        mask |= row.STOOD_TOO_LONG
    if phase == BOOT and readings.pump_contact < 0.5 and now.still_s > now.window_s:
        mask |= row.POWER_AWAY
    if not seen.outlet_a_ok or (fitted.outlet_b and not seen.outlet_b_ok) or (
        seen.apart_k > APART_K or suspects & (OUTLET_LOW | OUTLET_UNMOVED)
    ):
        mask |= row.OUTLET_DOUBT
        if not seen.outlet_a_ok and not seen.outlet_b_ok:
            mask |= row.OUTLETS_LOST
    if (watch.mute_s <= 0.0 and seen.apart_k > FAR_APART_K) or suspects & RESIDUAL_LASTS:
        mask |= row.CONTRADICTED
    if suspects & RESIDUAL:
        mask |= row.HEAT_RESIDUAL
    if suspects & FLOW_ODD:
        mask |= row.FLOW_ODD
    if not seen.tank_ok:
        mask |= row.TANK_LOST
    if phase == NO_FLOW and not seen.flow_good and now.evidence and ages.phase_s >= EVIDENCE_S:
        mask |= row.METER_DEAD
    if valve_is_deaf(seen, control, constants):
        mask |= row.VALVE_DEAF
    if watch.under_s > 0.0 and not (seen.flow_lpm >= reckoned.healthy_lpm):
        mask |= row.FLOW_NOT_RESTORED
    if fitted.fan_current and watch.fans_on_s >= FANS_UP_S:
        if not (readings.fan_a >= power.fan_low_a):
            mask |= row.FANS_LOST
        elif readings.fan_a < reckoned.fans_least_a:
            mask |= row.FAN_LOST
    if watch.weak_s >= WEAK_S:
        mask |= row.FANS_LOST
    if fitted.level and readings.level_low >= 0.5:
        mask |= row.LEVEL_LOW
    if fitted.level and readings.level_low_low >= 0.5:
        mask |= row.LEVEL_LOW_LOW
    if readings.supply_v < reckoned.supply_low_v:
        mask |= row.SUPPLY_LOW
    if phase == DUMP and (
        ages.dump_4_s < HOUR_S
        or (ages.phase_s > reckoned.dump_helps_s and not (seen.outlet_c < limits.outlet_dump_c))
    ):
        mask |= row.DUMP_FAILS
    if phase == NO_FLOW and ages.flow_return_s < HOUR_S:
        mask |= row.SECOND_STOP
    return mask
