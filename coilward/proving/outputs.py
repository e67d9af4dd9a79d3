"""What the outputs are told, for every group of rows that can count and whatever the phase wants.

The two gates after the phase, `overruled` and `guarded`, run themselves. They are held against
the columns of the cause-and-effect table, read here a second time and by their words: a row of
the lock-out has the last word on the pump, a hold moves nothing, anything else that a row asks
for is done. What the phase wants is not computed but taken to be anything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cache
from itertools import product
from typing import NamedTuple

from coilward.controller import phases as ph
from coilward.controller.acting import guarded, overruled
from coilward.controller.constants import Constants
from coilward.controller.interlocks import ANY_TIME, EMERGENCY, LATCH_DRY, ROWS, names
from coilward.controller.phases import PHASES
from coilward.controller.state import NO, Control, fresh_control
from coilward.controller.types import Commands
from coilward.proving.finite import Inside
from coilward.proving.grouping import asked, signature, unions
from coilward.proving.result import Result


class Gates(NamedTuple):
    """The two gates; wrong ones may be given, to see them caught."""

    overruled: Callable[[Commands, int, int, Control], Commands] = overruled
    guarded: Callable[..., Commands] = guarded


class Case(NamedTuple):
    """One call of both gates."""

    phase: int
    fire: int
    dry: bool
    retrying: bool
    rows: int
    wanted: Commands
    control: Control
    said: Commands


class Told(NamedTuple):
    """A property of what the outputs are told."""

    name: str
    holds: Callable[[Case, Constants], bool]


@cache
def column(rows: int, name: str, word: object) -> bool:
    """Whether one of the rows says this word in this column of the printed table."""
    return any(getattr(row, name) == word for i, row in enumerate(ROWS) if rows >> i & 1)


@cache
def loudest(rows: int) -> int:
    """The horn of the loudest of the rows."""
    return max((row.horn for i, row in enumerate(ROWS) if rows >> i & 1), default=0)


def _held(case: Case, name: str) -> bool:
    return case.phase == ph.DRY or column(case.rows, name, "hold")


def _dry_stays_off(case: Case, _: Constants) -> bool:
    return not case.dry or not case.said.pump


def _may_rest(case: Case) -> bool:
    """A dry coil, a retry, or a loop that somebody may have open, with the fire out."""
    opened = case.phase == ph.MAINTENANCE and case.fire == NO and not case.wanted.pump
    return case.dry or case.retrying or opened


def _water_moves(case: Case, _: Constants) -> bool:
    due = case.fire != NO and case.phase != ph.BOOT
    due = due or column(case.rows, "pump", "on")
    return not due or case.said.pump or _may_rest(case)


def _emergency_moves_water(case: Case, _: Constants) -> bool:
    pressed = case.rows & EMERGENCY and not _may_rest(case)
    return not pressed or (case.said.pump and not case.said.damper_open)


def _valve_over_stop(case: Case, constants: Constants) -> bool:
    return constants.valve.stop <= case.said.valve <= 1.0


def _opens(case: Case, _: Constants) -> bool:
    if _held(case, "valve"):
        return case.said.valve == case.control.valve
    return not column(case.rows, "valve", "open") or case.said.valve == 1.0


def _dumps(case: Case, _: Constants) -> bool:
    if _held(case, "dump"):
        return case.said.dump_open == case.control.dump_open
    return case.said.dump_open or not column(case.rows, "dump", "open")


def _shuts(case: Case, _: Constants) -> bool:
    burning = case.phase in (ph.WARM_UP, ph.RUN, ph.COLD_START, ph.MAINTENANCE)
    return not case.said.damper_open or (burning and not column(case.rows, "damper", "shut"))


def _sounds(case: Case, _: Constants) -> bool:
    return case.said.horn >= loudest(case.rows)


TOLD: tuple[Told, ...] = (
    Told("a coil that may be dry never sees the pump, whatever counts", _dry_stays_off),
    Told("with a fire in, only the lock-out or a retry stops the pump", _water_moves),
    Told("the emergency button never stops the water", _emergency_moves_water),
    Told("the valve is never told below its stop", _valve_over_stop),
    Told("a row that opens the valve does, and a hold moves nothing", _opens),
    Told("a row that opens the dump does, and a hold moves nothing", _dumps),
    Told("the damper is shut by any row that says so, and where no fire belongs", _shuts),
    Told("the horn is as loud as the loudest row", _sounds),
)


def groups(allowed: int) -> list[int]:
    """One set of rows for each that the gates and the printed columns can tell apart."""
    masks = list(asked(overruled, "active").values())
    masks += [ANY_TIME, LATCH_DRY, EMERGENCY]
    for name in ("pump", "valve", "damper", "dump", "horn"):
        for word in sorted({getattr(row, name) for row in ROWS}):
            masks.append(sum(1 << i for i, row in enumerate(ROWS) if getattr(row, name) == word))
    signs = [signature(1 << i & allowed, masks) for i in range(len(ROWS))]
    return list(unions(signs).values())


def ends(reached: Iterable[Inside]) -> set[tuple[int, int, bool]]:
    """(phase, fire, dry) of every state reached."""
    return {(inside.phase, inside.fire, inside.dry) for inside in reached}


def cases(reached: Iterable[Inside], constants: Constants, gates: Gates) -> Iterator[Case]:
    """Every call of the gates that a reached state can make.

    A row of the lock-out counts only where the coil may be dry: that is shown tick by tick.
    """
    stop = constants.valve.stop
    anything = [
        Commands(pump, valve, 0.0, damper, dump, horn, False)
        for pump, valve, damper, dump, horn in product(
            (False, True), (0.0, 1.0), (False, True), (False, True), (0, 3)
        )
    ]
    found = [
        fresh_control(True, dump)._replace(valve=valve)
        for dump, valve in product((False, True), (stop, 1.0))
    ]
    every, calm = groups((1 << len(ROWS)) - 1), groups(ANY_TIME)
    for phase, fire, dry in sorted(ends(reached)):
        retries = (False, True) if phase == ph.NO_FLOW else (False,)
        for rows in calm if fire == NO else every:
            if rows & LATCH_DRY and not dry:
                continue
            for wanted, control in product(anything, found):
                over = gates.overruled(wanted, rows, phase, control)
                holds = {False, fire != NO and control.dump_open}
                for retrying, held in product(retries, sorted(holds)):
                    said = gates.guarded(
                        over, phase, fire, dry, retrying, held, False, False, constants
                    )
                    yield Case(phase, fire, dry, retrying, rows, wanted, control, said)


def _tell(case: Case) -> str:
    return (
        f"{PHASES[case.phase]}, fire {case.fire}, dry {case.dry}, retrying {case.retrying}, "
        f"rows {'+'.join(names(case.rows)) or 'none'}, the phase wants {case.wanted}, "
        f"valve and dump were {case.control.valve}, {case.control.dump_open}: {case.said}"
    )


def outputs(
    reached: Iterable[Inside], constants: Constants, gates: Gates | None = None
) -> list[Result]:
    """Both gates on everything that can reach them, against the printed columns."""
    broken: dict[str, str] = {}
    looked_at = 0
    for case in cases(reached, constants, gates or Gates()):
        looked_at += 1
        for name, holds in TOLD:
            if name not in broken and not holds(case, constants):
                broken[name] = _tell(case)
    return [Result(name, looked_at, broken.get(name, "")) for name, _ in TOLD]
