"""What happened in a run of ticks, from its columns: rows that count, phases, first-outs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import PHASES

Column = NDArray[Any]
What = Literal["row", "phase", "first out"]


class Event(NamedTuple):
    """One thing that happened at a tick."""

    number: int
    time_s: float
    what: What
    name: str
    """Of the row that began to count or was first, or of the phase that was entered."""


class Shift(NamedTuple):
    """One event of a kind in two courses of the same night; NaN where it didn't happen."""

    what: What
    name: str
    logged_s: float
    decided_s: float

    @property
    def later_s(self) -> float:
        """How much later the second course has it; negative where it is earlier."""
        return self.decided_s - self.logged_s


@dataclass
class Course:
    """The events of one course of a night, in order."""

    events: list[Event] = field(default_factory=list)
    _raised: int = 0
    _phase: int = -1
    _first: int = -1

    def begin(self, raised: int, phase: int, first: int) -> None:
        """What stood before the first tick: none of it is an event."""
        self._raised, self._phase, self._first = raised, phase, first

    def add(
        self, numbers: Column, times_s: Column, raised: Column, phases: Column, firsts: Column
    ) -> list[Event]:
        """Takes the next ticks; the events that they hold."""
        moved = _changes(raised, self._raised) | _changes(phases, self._phase)
        moved |= _changes(firsts, self._first)
        found: list[Event] = []
        for at in np.flatnonzero(moved):
            found += self._at(int(numbers[at]), float(times_s[at]), int(raised[at]),
                              int(phases[at]), int(firsts[at]))  # fmt: skip
        self.events += found
        return found

    def _at(
        self, number: int, time_s: float, raised: int, phase: int, first: int
    ) -> list[Event]:
        found = [
            Event(number, time_s, "row", row.name)
            for place, row in enumerate(ROWS) if (raised & ~self._raised) >> place & 1
        ]  # fmt: skip
        if first != self._first and 0 <= first < len(ROWS):
            found.append(Event(number, time_s, "first out", ROWS[first].name))
        if phase != self._phase and 0 <= phase < len(PHASES):
            found.append(Event(number, time_s, "phase", PHASES[phase]))
        self._raised, self._phase, self._first = raised, phase, first
        return found


def shifts(logged: Iterable[Event], decided: Iterable[Event]) -> list[Shift]:
    """The first time of everything that happened in either course, in order of time."""
    ours, theirs = _firsts(logged), _firsts(decided)
    found = [
        Shift(what, name, ours.get((what, name), np.nan), theirs.get((what, name), np.nan))
        for what, name in dict.fromkeys([*ours, *theirs])
    ]
    return sorted(found, key=lambda each: np.nanmin([each.logged_s, each.decided_s]))


def _firsts(events: Iterable[Event]) -> dict[tuple[What, str], float]:
    found: dict[tuple[What, str], float] = {}
    for event in events:
        found.setdefault((event.what, event.name), event.time_s)
    return found


def _changes(column: Column, before: int) -> NDArray[np.bool_]:
    moved = np.empty(len(column), bool)
    moved[0] = column[0] != before
    np.not_equal(column[1:], column[:-1], out=moved[1:])
    return moved
