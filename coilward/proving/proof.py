"""What a campaign shows: one result a fault, the pairs that escape, and to what it all applies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Status = Literal[
    "passed", "escaped", "lets the steam out", "held by hardware", "boils", "not survivable",
    "not shown", "not in this loop", "invalid",
]  # fmt: skip
"""Only "passed" is a pass. "held by hardware": the fault is survived by hardware alone, which
the model carries; "boils": of a class that ought not to; "not survivable": nothing helps."""


@dataclass(frozen=True)
class RowResult:
    """All cases of one fault together."""

    fault: str
    cls: str
    """Class of the fault in this loop, as `coilward.simulator.faults.classes` has it."""
    status: Status
    runs: int
    """Valid cases."""
    invalid: int
    """Cases in which the fault did not act, or the board was not in the phase."""
    boiled: int
    escapes: int
    caught: dict[str, int]
    """Interlock row that told first: how often. The empty name counts cases that none told of."""
    median_s: float | None
    worst_s: float | None
    """From the onset to the row that told; None where none did."""
    deadline_s: float | None
    margin_k: float | None
    margin_s: float | None
    """Least of all valid cases; None where the coil was never heated."""
    worst_key: str
    """Case with the smallest margin; an escape where there is one. Empty without a case."""
    why: str
    """One sentence for a status that a person has to understand; empty for "passed"."""


@dataclass(frozen=True)
class PairEscape:
    """Two faults at once that violate what each alone does not."""

    first: str
    second: str
    cls: str
    """The worse class of the two."""
    what: str
    """What was violated, in words."""
    key: str


@dataclass(frozen=True)
class PairLeftOut:
    """Two faults that cannot be had at once."""

    first: str
    second: str
    why: str


@dataclass(frozen=True)
class Proof:
    """What was tried on one loop under one logic. Void when either hash changes."""

    loop_name: str
    loop_hash: str
    logic_hash: str
    logic_name: str
    """The word coilward, or MODULE:FUNCTION of a logic of the user's own."""
    model_hash: str
    """Over plant, faults and requirements: a proof is void with another model, too."""
    seed: int
    rows: tuple[RowResult, ...]
    """In catalogue order; a fault that was not tried is a row as well."""
    pairs_run: int
    pair_escapes: tuple[PairEscape, ...]
    pairs_left_out: tuple[PairLeftOut, ...]
    runs: int
    """Valid cases of single faults."""
    confidence: float
    """Share of cases that end well, at 95 %, that this many runs without an escape bound."""

    @property
    def held(self) -> bool:
        """Whether no case of a class that promises it escaped, and none was invalid."""
        return not self.badly

    @property
    def badly(self) -> list[str]:
        """Faults that end badly although something should hold them, or that were not shown."""
        return [row.fault for row in self.rows if row.status in ("escaped", "boils", "invalid")]
