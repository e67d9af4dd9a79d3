"""The invariants of one tick, I1 to I20 as far as one tick can show them.

They raise `Violation` and do not assert, so that a program run under ``python -O`` that is held
to them is held to them all the same. Which test shows which of the twenty stands in
`test_invariants.py`.
"""

from __future__ import annotations

from typing import NamedTuple

from coilward.controller.constants import Constants
from coilward.controller.decide import Decision, decide
from coilward.controller.interlocks import LATCH_DRY, TO_DUMP
from coilward.controller.latching import RESET_HELD_S
from coilward.controller.phases import (
    BOOT,
    DEGRADED,
    DRY,
    DUMP,
    NO_FLOW,
    PHASES,
    RUN,
    SHUTDOWN,
    WARM_UP,
)
from coilward.controller.state import MAYBE_DRY, NO, WET, State
from coilward.controller.types import Readings, Requests

BOOT_S = 3.0
DUMP_LEAST_S = 60.0
OPEN_PHASES = (DUMP, NO_FLOW, SHUTDOWN, DEGRADED)


class Violation(Exception):  # noqa: N818 - it is named for what it is
    """An invariant that does not hold."""


class Moment(NamedTuple):
    """One tick: what went in, and what came out."""

    readings: Readings
    requests: Requests
    before: State
    done: Decision
    constants: Constants


def need(holds: bool, name: str, moment: Moment) -> None:
    """Raises Violation, with the invariant's name and what was decided."""
    if not holds:
        mode = moment.done.state.mode
        raise Violation(f"{name}: {PHASES[mode.phase]}, {mode}, {moment.done.commands}")


def water(moment: Moment) -> None:
    """I1, I2: wet means moving, but for a retry and three seconds of boot; dry means off."""
    mode, commands = moment.done.state.mode, moment.done.commands
    ages, control = moment.done.state.ages, moment.done.state.control
    retrying = mode.phase == NO_FLOW and control.retry_off_s > 0.0
    if mode.fire != NO and mode.coil == WET and not mode.dry and mode.phase != BOOT:
        need(commands.pump or retrying, "I1", moment)
    if mode.phase == BOOT and mode.fire != NO:
        need(ages.phase_s <= BOOT_S + moment.constants.tick_s, "I1, boot", moment)
    if mode.coil == MAYBE_DRY or mode.dry:
        need(not commands.pump, "I2", moment)


def valve(moment: Moment) -> None:
    """I3: never under its stop; open in the phases that cool; unchanged in the lock-out."""
    mode, told = moment.done.state.mode, moment.done.commands.valve
    if mode.fire != NO:
        need(told >= moment.constants.valve.stop, "I3", moment)
        if mode.phase in OPEN_PHASES:
            need(told == 1.0, "I3, open", moment)
    if mode.phase == DRY == moment.before.mode.phase:
        need(told == moment.before.control.valve, "I3, held", moment)


def latches(moment: Moment) -> None:
    """I5: no latch clears without a local reset, held, with the cause absent."""
    before, after = moment.before.mode, moment.done.state.mode
    cleared = before.latched & ~after.latched
    if cleared or (before.dry and not after.dry):
        held_s = moment.before.watch.reset_s + moment.constants.tick_s
        need(moment.requests.reset and held_s >= RESET_HELD_S, "I5, held", moment)
        need(before.phase != BOOT, "I5, boot", moment)
        need(cleared & moment.done.state.seen & ~LATCH_DRY == 0, "I5, cause", moment)
    if before.dry and not after.dry:
        need(before.phase == DRY and after.fire == NO, "I5, dry", moment)


def dump(moment: Moment) -> None:
    """I11: a minute at least before a return to run; the way in is never delayed."""
    before, after = moment.before, moment.done.state
    if before.mode.phase == DUMP and after.mode.phase == RUN:
        need(before.ages.phase_s >= DUMP_LEAST_S, "I11", moment)
    if before.mode.phase in (WARM_UP, RUN) and after.raised & TO_DUMP:
        need(after.mode.phase not in (WARM_UP, RUN), "I11, entry", moment)


def people(moment: Moment) -> None:
    """I7, I8, I14, I19: silence, remote, the same again, emergency: each against this tick."""
    readings, asked, before, done, constants = moment

    def otherwise(**changes: bool) -> Decision:
        return decide(readings, asked._replace(**changes), before, constants)

    need(repr(otherwise()) == repr(done), "I14", moment)
    quiet, loud = otherwise(silence=True).commands, otherwise(silence=False).commands
    need(quiet._replace(horn=0) == loud._replace(horn=0), "I7", moment)
    remote = otherwise(remote_unsafe=True).commands
    local = otherwise(remote_unsafe=False).commands
    need(remote._replace(horn=0) == local._replace(horn=0), "I8", moment)
    pressed, free = otherwise(emergency=True).commands, otherwise(emergency=False).commands
    need(pressed.pump >= free.pump, "I19", moment)


def reboot(before: State, after: State) -> None:
    """I6: latches, coil and fire survive a reboot, whenever it comes."""
    for name in ("latched", "dry", "fire", "coil", "first_out", "meter_dead"):
        if getattr(before.mode, name) != getattr(after.mode, name):
            raise Violation(f"I6, {name}: {before.mode} became {after.mode}")
    for name in ("still_s", "window_s", "heat_s"):
        if getattr(before.ages, name) != getattr(after.ages, name):
            raise Violation(f"I6, {name}: {before.ages} became {after.ages}")


EVERY = (water, valve, latches, dump, people)


def hold(moment: Moment) -> None:
    """All of them on one tick. Raises Violation."""
    for check in EVERY:
        check(moment)
