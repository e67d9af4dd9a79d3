"""How the words of one session lie: a later program may remember other numbers than an earlier."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from coilward.hil.journal.schema import BLOBS, FLOAT_NAMES, INPUTS, MEMORY, OUTCOME, WHOLE_NAMES

COLUMNS = "floats, wholes, inputs, outcome, memory, raw"


@dataclass(frozen=True)
class Layout:
    """Names in the order of a row of single ticks, and what of them lies in which blob."""

    floats: tuple[str, ...]
    wholes: tuple[str, ...]
    inputs: tuple[str, ...]
    outcome: tuple[str, ...]
    memory: tuple[str, ...]
    raw: tuple[str, ...]

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Every number of a tick, the raw ones last."""
        return (*self.floats, *self.wholes, *self.raw)

    @cached_property
    def place(self) -> Mapping[str, int]:
        """Of a name in a row; the raw ones only where no other has their name."""
        return {name: place for place, name in reversed(list(enumerate(self.names)))}

    @cached_property
    def places(self) -> Mapping[str, list[int]]:
        """Of the numbers of each blob in a row."""
        found = {
            group: [self.place[name] for name in names]
            for group, names in zip(BLOBS, (self.inputs, self.outcome, self.memory), strict=False)
        }
        base = len(self.floats) + len(self.wholes)
        return {**found, "raw": list(range(base, base + len(self.raw)))}

    def is_float(self, place: int) -> bool:
        """Whether the word there is a float."""
        return not len(self.floats) <= place < len(self.floats) + len(self.wholes)

    def group_of(self, name: str) -> str:
        """The blob that a number lies in. Raises KeyError for a name that is not there."""
        place = self.place[name]
        return next(group for group in BLOBS if place in self.places[group])

    @property
    def is_ours(self) -> bool:
        """Whether this program remembers the same numbers in the same order."""
        return (self.floats, self.wholes) == (FLOAT_NAMES, WHOLE_NAMES)

    def as_row(self) -> tuple[str, ...]:
        """As it stands in the table of sessions, in the order of `COLUMNS`."""
        parts = (self.floats, self.wholes, self.inputs, self.outcome, self.memory, self.raw)
        return tuple(json.dumps(part) for part in parts)


def ours(raw: Sequence[str] = ()) -> Layout:
    """What this program writes."""
    return Layout(FLOAT_NAMES, WHOLE_NAMES, INPUTS, OUTCOME, MEMORY, tuple(raw))


def layout_of(db: sqlite3.Connection, session: int) -> Layout:
    """The layout of a session. Raises ValueError where its row holds none."""
    row = db.execute(f"SELECT {COLUMNS} FROM session WHERE id = ?", (session,)).fetchone()  # noqa: S608 - names from our own list
    if row is None:
        raise ValueError(f"there is no session {session}")
    parts = [json.loads(part) for part in row]
    if not all(isinstance(part, list) and all(isinstance(n, str) for n in part) for part in parts):
        raise ValueError(f"session {session} has no list of its numbers")
    found = Layout(*(tuple(part) for part in parts))
    of_groups = {*found.inputs, *found.outcome, *found.memory}
    if of_groups != {*found.floats, *found.wholes} or found.inputs[:1] != ("number",):
        raise ValueError(f"the list of numbers of session {session} is damaged")
    return found
