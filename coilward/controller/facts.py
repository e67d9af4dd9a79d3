"""The booleans that the phase table reads, computed once a tick."""

from __future__ import annotations

from coilward.controller import interlocks as row
from coilward.controller import phases as ph
from coilward.controller import prelight
from coilward.controller.by_hand import cold_coil
from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate, cold_enough
from coilward.controller.latching import Latched
from coilward.controller.sensing import Seen
from coilward.controller.state import NO, Ages, Mode, Watch
from coilward.controller.types import Readings, Requests

COOLED_S = 300.0
DUMP_LEAST_S = 60.0
"""A dump that was opened over a fire stays open for so long: it never chatters."""
NO_HEAT_S = 1800.0
NO_HEAT_WARM_UP_S = 2700.0
WARM_C = 55.0
LINE_COLD_C = 4.0
LINE_WARM_S = 900.0
BOOT_S = 3.0


def facts_of(
    active: int, raised: int, readings: Readings, requests: Requests, seen: Seen, now: Estimate,
    kept: Latched, mode: Mode, ages: Ages, watch: Watch, constants: Constants,
) -> int:
    """The booleans that the phase table reads, as one mask."""
    limits, fitted = constants.limits, constants.fitted
    facts = 0
    if raised & row.TO_DRY:
        facts |= ph.ROW_DRY
    if raised & row.TO_NO_FLOW:
        facts |= ph.ROW_NO_FLOW
    if active & row.TO_SHUTDOWN:
        facts |= ph.ROW_SHUTDOWN
    if active & row.TO_DEGRADED:
        facts |= ph.ROW_DEGRADED
    else:
        facts |= ph.INSTRUMENTS_CLEAN
    if raised & row.TO_DUMP:
        facts |= ph.ROW_DUMP
    if raised & row.UNPERMITTED_HEAT:
        facts |= ph.HEAT_UNPERMITTED
    if now.fire == NO:
        facts |= ph.FIRE_OUT
    if kept.dry:
        facts |= ph.COIL_MAY_BE_DRY
    if kept.dry_reset:
        facts |= ph.DRY_RESET
    if kept.latched != 0:
        facts |= ph.PERSON_LATCHED
    if requests.prepare:
        facts |= ph.PREPARE
    if requests.finish:
        facts |= ph.FINISH
    if now.proven and now.still_s <= 0.0:
        facts |= ph.FLOW_RETURNED
    if kept.latched & row.METER_DEAD:
        facts |= ph.METER_DEAD_WATER_MOVES
    phase = mode.phase
    if phase == ph.BOOT:
        facts = boot_facts(facts, readings, seen, now, mode, ages, constants)
    elif phase == ph.NO_FLOW:
        if fitted.level and not (readings.level_low_low < 0.5):
            facts |= ph.TANK_LOW_LOW
        facts |= came_from(mode.came_from)
    elif phase == ph.STANDBY or phase == ph.FREEZE:
        if fitted.line and readings.line_min_c < LINE_COLD_C:
            facts |= ph.LINE_COLD
        if watch.warm_line_s >= LINE_WARM_S:
            facts |= ph.LINE_WARM
        if requests.key and now.fire == NO and cold_coil(seen, constants):
            facts |= ph.KEY_AND_COLD
    elif phase == ph.MAINTENANCE:
        if not requests.key:
            facts |= ph.KEY_OFF
    elif phase == ph.COLD_START:
        if mode.permitted and now.fire != NO:
            facts |= ph.CHECK_PASSED_AND_LIT
        if ages.phase_s >= prelight.GIVEN_S:
            facts |= ph.CHECK_OVER
    else:
        if phase == ph.WARM_UP and seen.outlet_c >= warm_from_c(seen, constants):
            facts |= ph.WARM
        if watch.idle_s >= (NO_HEAT_WARM_UP_S if phase == ph.WARM_UP else NO_HEAT_S):
            facts |= ph.NO_HEAT
        if not (seen.tank_c < limits.tank_finish_c):
            facts |= ph.TANK_FINISHED
        if watch.cooled_s >= COOLED_S and ages.phase_s >= DUMP_LEAST_S:
            facts |= ph.COOLED
    return facts


def warm_from_c(seen: Seen, constants: Constants) -> float:
    """Outlet from which warm-up is over: most of what the usual fire can reach."""
    warm_c = seen.tank_c + constants.reckoned.warm_k
    return warm_c if warm_c < WARM_C else WARM_C


def came_from(phase: int) -> int:
    """The fact that names the phase to return to."""
    if phase == ph.WARM_UP:
        return ph.WAS_WARM_UP
    if phase == ph.RUN:
        return ph.WAS_RUN
    if phase == ph.DUMP:
        return ph.WAS_DUMP
    if phase == ph.DEGRADED:
        return ph.WAS_DEGRADED
    return ph.WAS_SHUTDOWN


def boot_facts(
    facts: int, readings: Readings, seen: Seen, now: Estimate, mode: Mode, ages: Ages,
    constants: Constants,
) -> int:
    """After a restart nothing is believed that cannot be seen: a fire is out only if it is cold."""
    facts &= ~ph.FIRE_OUT
    under_40, unfitted = cold_enough(seen.metal_c, readings.flue_c, 40.0, constants)
    if mode.fire == NO and now.fire == NO and (under_40 or (unfitted and seen.outlet_c < 40.0)):
        facts |= ph.FIRE_OUT
    if now.water_moved and readings.pump_contact >= 0.5:
        facts |= ph.WATER_FOUND_MOVING
    if ages.phase_s >= BOOT_S:
        facts |= ph.BOOT_WAITED
    if mode.came_from in (ph.WARM_UP, ph.RUN, ph.DUMP, ph.DEGRADED, ph.SHUTDOWN):
        facts |= came_from(mode.came_from)
    return facts
