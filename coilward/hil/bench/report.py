"""What a bench has found out: filled in as it goes, so that what was measured is never lost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from coilward.hil.bench.timing import NEVER, Spread
from coilward.hil.frames import Values
from coilward.hil.messages import TABLE

Progress = Callable[[str, int, int], None]
"""What is done now, how much of it is done, and how much there is."""


class Finding(NamedTuple):
    """Something about the board that is not as it should be."""

    part: str
    """What the bench was doing."""
    words: str


class Silent(NamedTuple):
    """The board's own dead-man."""

    spread: Spread
    limit_s: float


class RowTimes(NamedTuple):
    """One interlock, provoked many times."""

    name: str
    limit_s: float
    spread: Spread
    missed: int
    """Times that the outputs did not come, or came too late."""
    differing: int
    """Ticks at which the board did not decide as the reference does."""
    first: str
    """In what it differed first."""
    handed: bool
    """Whether the reference played all but the end, and handed its state to the board."""
    why_not: str = ""
    """Why it could not be measured; empty where it was."""

    @property
    def passed(self) -> bool:
        """Measured, always in time, and always as the reference decides."""
        return not self.why_not and not self.missed and not self.differing


class Played(NamedTuple):
    """A night, or a fault of the catalogue, played to the board."""

    name: str
    ticks: int
    board: str
    """Hash over all that the board decided."""
    reference: str
    """The same over what our logic decides on the same readings."""
    alone: str
    """The same of the night in pure simulation; empty where it was not run."""
    differing: int
    first: str
    """First difference, with its tick."""

    @property
    def passed(self) -> bool:
        """The same decisions to the last bit."""
        return not self.differing and self.board == self.reference and not self.first


class WireTrial(NamedTuple):
    """One thing that can befall a wire or a board, tried."""

    name: str
    touched: int
    """Pieces of data that did not arrive as they were sent."""
    first: str
    """What went wrong; empty where nothing did."""


@dataclass
class Report:
    """All of one bench."""

    repeats: int
    seed: int
    paced: bool
    tick_s: float
    constants: int
    """Checksum of the reference's constants."""
    table: str = TABLE
    board: Values | None = None
    """What the board says of itself."""
    silent: Silent | None = None
    rows: list[RowTimes] = field(default_factory=list)
    wires: list[WireTrial] = field(default_factory=list)
    faults: list[Played] = field(default_factory=list)
    nights: list[Played] = field(default_factory=list)
    answers: Spread = NEVER
    ticks: int = 0
    findings: list[Finding] = field(default_factory=list)
    parts_done: list[str] = field(default_factory=list)
    stopped: bool = False
    """Whether a person ended it before its end."""
    gone: bool = False
    """Whether the board stopped talking for good."""

    def find(self, part: str, words: str) -> None:
        """One more finding; the same words are kept once."""
        if words and Finding(part, words) not in self.findings:
            self.findings.append(Finding(part, words))
