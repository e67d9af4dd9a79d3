"""What happened in a night, from its columns: phases, and rows as they began to count."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import PHASES
from coilward.hil.journal.layout import FACTS, MEMORY, Words

WATCHED = ("mode_phase", "raised", "mode_latched", "mode_first_out")
_PLACES = [FACTS.index(name) for name in WATCHED]
_COMMANDS = [FACTS.index(name) for name in FACTS[:2] + FACTS[-5:]]


class Change(NamedTuple):
    """One tick in which something began or ended."""

    number: int
    time_s: float
    phase: int
    raised: int
    latched: int
    first_out: int


class Begun(NamedTuple):
    """A row that began to count."""

    number: int
    time_s: float
    name: str
    first_out: bool
    latched: bool


def changes_in(
    facts: Words, numbers: NDArray[Any], times_s: NDArray[Any], before: Change | None
) -> list[Change]:
    """The ticks of a block at which the phase, rows, latches or the first-out differ from before.

    Without a ``before`` the first tick is one of them.
    """
    rows = facts[_PLACES].view(np.int64)
    moved = np.zeros(rows.shape[1], bool)
    moved[1:] = (rows[:, 1:] != rows[:, :-1]).any(axis=0)
    moved[0] = before is None or tuple(rows[:, 0].tolist()) != before[2:]
    return [
        Change(int(numbers[at]), float(times_s[at]), *rows[:, at].tolist())
        for at in np.flatnonzero(moved)
    ]


def commands_differ(facts: Words, others: Words) -> NDArray[np.bool_]:
    """In which ticks of two blocks any output was told another thing."""
    differ: NDArray[np.bool_] = (facts[_COMMANDS] != others[_COMMANDS]).any(axis=0)
    return differ


def differing(outcome: Words, other: Words, at: int) -> list[str]:
    """The names of what differs in a tick."""
    places = np.flatnonzero(outcome[:, at] != other[:, at])
    return [(*MEMORY, *FACTS)[place] for place in places]


def begun(changes: Sequence[Change]) -> list[Begun]:
    """Every row at the tick at which it began to count; what counts in the first tick is there."""
    found, before = [], 0
    for change in changes:
        new = change.raised & ~before
        found += [
            Begun(change.number, change.time_s, row.name, change.first_out == place,
                  bool(change.latched >> place & 1))
            for place, row in enumerate(ROWS) if new >> place & 1
        ]  # fmt: skip
        before = change.raised
    return found


def phases(changes: Sequence[Change]) -> list[tuple[float, str]]:
    """Time and name of every phase, the first one's at the first tick."""
    found: list[tuple[float, str]] = []
    for change in changes:
        name = PHASES[change.phase]
        if not found or found[-1][1] != name:
            found.append((change.time_s, name))
    return found
