"""From the phase to the outputs, in three gates: what the phase wants, what the interlocks
overrule, and a last guard that can only move an output to the safer side.
"""

from __future__ import annotations

from typing import NamedTuple

from coilward.controller import interlocks as row
from coilward.controller import prelight
from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate
from coilward.controller.facts import LINE_COLD_C
from coilward.controller.phases import (
    BOOT,
    COLD_START,
    DEGRADED,
    DRY,
    DUMP,
    FREEZE,
    MAINTENANCE,
    NO_FLOW,
    RUN,
    SHUTDOWN,
    WARM_UP,
)
from coilward.controller.reckoned import GUARD_RUN_S
from coilward.controller.sensing import Seen
from coilward.controller.state import NO, Control
from coilward.controller.types import Commands, Readings

FAN_START_C = 40.0
FAN_STOP_C = 35.0
FAN_FORCED_C = 65.0
RETRY_OFF_S = 1.0
RETRY_EVERY_S = 3.5


class Retry(NamedTuple):
    """Off-and-on attempts on a pump that both its witnesses say does not pump."""

    tries: float
    off_s: float
    gap_s: float


NO_RETRY = Retry(0.0, 0.0, 0.0)


def retry(
    entering: bool, seen: Seen, now: Estimate, control: Control, constants: Constants
) -> Retry:
    """One tick of the retries in the no-flow fault: only inside the refill window, and not with an
    outlet that is known to be hot, where a second without the pump is one too many."""
    tries, off_s, gap_s = 0.0, 0.0, 0.0
    if not entering:
        tries = control.tries
        off_s = control.retry_off_s - constants.tick_s
        gap_s = control.retry_gap_s + constants.tick_s
    hot = seen.outlet_c >= constants.limits.outlet_dump_c
    inside = now.still_s + RETRY_EVERY_S <= now.window_s
    may = inside and tries < constants.water.retries and not hot
    due = tries == 0.0 or gap_s >= RETRY_EVERY_S
    if may and due and off_s <= 0.0 and seen.flow_absent and seen.current_bad:
        return Retry(tries + 1.0, RETRY_OFF_S, 0.0)
    return Retry(tries, off_s if off_s > 0.0 else 0.0, gap_s)


def rehearsed(phase_s: float, constants: Constants) -> Commands:
    """What the check before a fire has its outputs do, each in its turn."""
    stroke, fans, horn = 1.0, 0.0, 0
    damper_open, dump_open = False, False
    if phase_s >= prelight.SHUT_S:
        dump_open = phase_s < prelight.DUMP_S
        if not dump_open and phase_s < prelight.HORN_S:
            horn = 1
    elif phase_s >= prelight.FANS_S:
        damper_open = phase_s < prelight.DAMPER_S
    elif phase_s >= prelight.STOP_S:
        fans = 1.0
    elif phase_s >= prelight.OPEN_S and not constants.valve.always_open:
        stroke = constants.valve.stop
    pump = phase_s > prelight.REST_S
    return Commands(pump, stroke, fans, damper_open, dump_open, horn, False)


def wanted(
    phase: int, phase_s: float, stroke: float, guard_s: float, readings: Readings, seen: Seen,
    now: Estimate, control: Control, constants: Constants,
) -> Commands:
    """What the phase by itself would do."""
    inlet_c = readings.radiator_inlet_c if constants.fitted.radiator_inlet else seen.outlet_c
    starts = FAN_STOP_C if control.fans > 0.0 else FAN_START_C
    fans = 1.0 if not (inlet_c < starts) else 0.0
    if phase == RUN:
        if readings.room_c > constants.limits.not_over_c and inlet_c < FAN_FORCED_C:
            predicted_c = seen.tank_c + now.heat_w / constants.reckoned.open_w_k
            if predicted_c < constants.reckoned.outlet_rests_c:
                fans = 0.0
        return Commands(True, stroke, fans, True, False, 0, False)
    if phase == WARM_UP:
        return Commands(True, 1.0, fans, True, False, 0, False)
    if phase == DUMP:
        return Commands(True, 1.0, 1.0, False, True, 2, False)
    if phase == NO_FLOW:
        return Commands(True, 1.0, 1.0, False, True, 3, False)
    if phase == DRY:
        return Commands(False, control.valve, 1.0, False, control.dump_open, 3, False)
    if phase == SHUTDOWN:
        hot = not (seen.outlet_c < constants.limits.outlet_warn_c)
        return Commands(True, 1.0, fans, False, hot, 0, False)
    if phase == DEGRADED:
        blind = seen.outlet_c != seen.outlet_c or seen.tank_c != seen.tank_c
        return Commands(True, 1.0, 1.0, False, blind, 1, False)
    if phase == FREEZE:
        cold = not (readings.line_min_c >= LINE_COLD_C)
        return Commands(guard_s < GUARD_RUN_S or cold, 1.0, 0.0, False, False, 0, False)
    if phase == COLD_START:
        return rehearsed(phase_s, constants)
    if phase == BOOT:
        found_on = control.pump if readings.pump_contact != readings.pump_contact else (
            readings.pump_contact >= 0.5
        )
        short = now.fire != NO and now.still_s <= now.window_s
        return Commands(
            found_on or short, control.valve, 1.0 if now.fire != NO else 0.0, False,
            now.fire != NO, 1, False,
        )
    return Commands(False, 1.0, 0.0, False, False, 0, False)


def overruled(base: Commands, active: int, phase: int, control: Control) -> Commands:
    """The interlocks' say, lowest tier first, so that a higher one has the last word.

    In maintenance no row starts the pump: somebody may have the loop open.
    """
    if active == 0 and phase != DRY:
        return base
    pump, valve, fans = base.pump, base.valve, base.fans
    damper_open, dump_open, horn = base.damper_open, base.dump_open, base.horn
    if active & row.FANS_OFF:
        fans = 0.0
    if active & row.FANS_HALF and fans < 0.5:
        fans = 0.5
    if active & row.FANS_FULL:
        fans = 1.0
    if active & row.VALVE_OPEN:
        valve = 1.0
    if active & row.DAMPER_SHUT:
        damper_open = False
    if active & row.DUMP_OPEN:
        dump_open = True
    if active & row.PUMP_ON and phase != MAINTENANCE:
        pump = True
    if active & row.PUMP_OFF:
        pump = False
    if active & row.VALVE_HOLD or phase == DRY:
        valve = control.valve
    if active & row.DUMP_HOLD or phase == DRY:
        dump_open = control.dump_open
    if active & row.HORN_CONTINUOUS:
        horn = 3
    elif active & row.HORN_INTERMITTENT and horn < 2:
        horn = 2
    elif active & row.HORN_BEEP and horn < 1:
        horn = 1
    return Commands(pump, valve, fans, damper_open, dump_open, horn, base.may_light)


def guarded(
    said: Commands, phase: int, fire: int, dry: bool, retrying: bool, dump_held: bool,
    may_light: bool, silent: bool, constants: Constants,
) -> Commands:
    """The last word: water moves while a fire may be in, unless the coil may be dry."""
    pump, valve = said.pump, said.valve
    if dry:
        pump = False
    elif fire != NO and phase != BOOT:
        pump = not retrying
    if not (valve >= constants.valve.stop):
        valve = constants.valve.stop
    if not (valve <= 1.0):
        valve = 1.0
    burning = phase in (WARM_UP, RUN, COLD_START, MAINTENANCE)
    return Commands(
        pump, valve, said.fans, said.damper_open and burning, said.dump_open or dump_held,
        0 if silent else said.horn, may_light,
    )
