"""What a journal hands out: notes, trips, lines of a wire, and chunks that are still packed."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from coilward.hil.journal.layout import Layout, Words
from coilward.hil.journal.packing import Damaged, fingerprint, grown


class Note(NamedTuple):
    """What a person typed, or what the writer had to say."""

    wall_s: float
    session: int
    number: int
    """The tick that was the last, or the next, at that time."""
    words: str


class Trip(NamedTuple):
    """The first tick of some trouble."""

    number: int
    wall_s: float
    phase: int
    rows: int
    """Mask of the rows that began to count."""


class Frame(NamedTuple):
    """One line of a wire, as it came."""

    number: int
    line: bytes


class Chunk(NamedTuple):
    """Some ticks in a row, still packed."""

    session: int
    first: int
    last: int
    ticks: int
    every: int
    """1 where every tick is there."""
    inputs: bytes
    memory: bytes | None
    facts: bytes
    hash: bytes

    def inputs_of(self, layout: Layout) -> Words:
        """What came. Raises Damaged."""
        return grown(self.inputs, len(layout.inputs), self.ticks)

    def facts_of(self, layout: Layout) -> Words:
        """What was decided. Raises Damaged."""
        return grown(self.facts, len(layout.facts), self.ticks)

    def outcome_of(self, layout: Layout) -> Words:
        """Memory and facts of a whole chunk, in the order of a digest. Raises Damaged."""
        if self.memory is None:
            raise Damaged("a thinned chunk has no memory")
        memory = grown(self.memory, len(layout.memory), self.ticks)
        return np.vstack((memory, self.facts_of(layout)))

    def sound(self, layout: Layout) -> bool:
        """Whether all of it is what was written."""
        try:
            outcome = self.facts_of(layout) if self.memory is None else self.outcome_of(layout)
            return fingerprint(self.inputs_of(layout), outcome) == self.hash
        except Damaged:
            return False
