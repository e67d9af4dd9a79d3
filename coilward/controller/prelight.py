"""The check before a fire: four minutes in which everything that will be needed is used once."""

from __future__ import annotations

from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate
from coilward.controller.sensing import Seen, in_range
from coilward.controller.types import Readings

CHECKS: tuple[tuple[str, str], ...] = (
    ("battery", "the battery rests at 12.4 V or more"),
    ("level", "the tank is not low"),
    ("flow open", "the valve open gives four fifths of the loop's flow, at the right current"),
    ("flow at the stop", "the valve's stop passes what the usual fire needs"),
    ("fans", "the fans draw their current"),
    ("damper opens", "the damper leaves its shut switch"),
    ("damper shuts", "the damper comes back to it"),
    ("thermometers", "all thermometers of the loop agree within 1 K in moving water"),
    ("lines", "no outdoor line is near freezing"),
    ("flow switch", "the second proof of flow answers"),
    ("air", "the room's air holds less than 9 ppm of carbon monoxide"),
    ("constants", "the constants and the program on the board are this loop's"),
)
(
    BATTERY, LEVEL, FLOW_OPEN, FLOW_STOP, FANS, DAMPER_OPENS, DAMPER_SHUTS, AGREE, LINES, SWITCH,
    AIR, CONSTANTS,
) = (1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024, 2048)
ALL = 4095

REST_S = 3.0
OPEN_S = 45.0
STOP_S = 85.0
FANS_S = 100.0
DAMPER_S = 110.0
SHUT_S = 118.0
DUMP_S = 126.0
HORN_S = 127.0
DONE_S = 240.0
GIVEN_S = 1800.0
AGREE_K = 1.0
CLEAN_PPM = 9.0


def agreement(readings: Readings, seen: Seen, constants: Constants) -> bool:
    """Whether every fitted loop thermometer is known and within 1 K of the tank's."""
    fitted = constants.fitted
    tank_c = readings.tank_c
    if not (seen.tank_ok and seen.outlet_a_ok and abs(seen.outlet_a_c - tank_c) <= AGREE_K):
        return False
    if fitted.outlet_b and not (seen.outlet_b_ok and abs(seen.outlet_b_c - tank_c) <= AGREE_K):
        return False
    inlet_c = readings.radiator_inlet_c
    if fitted.radiator_inlet and not (in_range(inlet_c) and abs(inlet_c - tank_c) <= AGREE_K):
        return False
    outlet_c = readings.radiator_outlet_c
    warmest_c = tank_c if tank_c > readings.room_c else readings.room_c
    return not fitted.radiator_outlet or (seen.radiator_known and outlet_c <= warmest_c + AGREE_K)


def passed_checks(
    passed: int, phase_s: float, readings: Readings, seen: Seen, now: Estimate,
    constants: Constants,
) -> int:
    """The checks passed so far, after this tick of the cold start."""
    fitted, water, reckoned = constants.fitted, constants.water, constants.reckoned
    if not fitted.level or (readings.level_low < 0.5 and readings.level_low_low < 0.5):
        passed |= LEVEL
    else:
        passed &= ~LEVEL
    if not fitted.damper_switch:
        passed |= DAMPER_OPENS | DAMPER_SHUTS
    if phase_s >= DAMPER_S:
        if readings.damper_shut >= 0.5:
            passed |= DAMPER_SHUTS
        if phase_s >= DONE_S:
            passed = passed_last(passed, readings, seen, constants)
    elif phase_s >= FANS_S:
        if readings.damper_shut < 0.5:
            passed |= DAMPER_OPENS
    elif phase_s >= STOP_S:
        fans_turn = not fitted.fan_current or readings.fan_a >= reckoned.fans_least_a
        if phase_s >= FANS_S - 4.0 and fans_turn:
            passed |= FANS
    elif phase_s >= OPEN_S:
        always = constants.valve.always_open
        enough = always or (now.proven and seen.flow_lpm >= water.min_at_stop_lpm)
        if phase_s >= STOP_S - 8.0 and enough:
            passed |= FLOW_STOP
    elif phase_s >= 0.6 * OPEN_S:
        if now.proven and seen.flow_lpm >= reckoned.healthy_lpm:
            passed |= FLOW_OPEN
        if not fitted.switch or seen.switch_on:
            passed |= SWITCH
    elif phase_s <= REST_S and readings.supply_v >= reckoned.supply_rests_v:
        passed |= BATTERY
    return passed


def passed_last(passed: int, readings: Readings, seen: Seen, constants: Constants) -> int:
    """The same, of the checks that have to hold until the fire is lit."""
    fitted = constants.fitted
    passed = passed | AGREE if agreement(readings, seen, constants) else passed & ~AGREE
    cold = fitted.line and not (readings.line_min_c > 2.0)
    passed = passed & ~LINES if cold else passed | LINES
    foul = fitted.co and not (readings.co_ppm < CLEAN_PPM)
    passed = passed & ~AIR if foul else passed | AIR
    own = readings.constants_ok >= 0.5
    return passed | CONSTANTS if own else passed & ~CONSTANTS


def missing(passed: int) -> list[str]:
    """The checks not passed, in words."""
    return [words for index, (_, words) in enumerate(CHECKS) if not passed >> index & 1]
