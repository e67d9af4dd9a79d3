"""What the classes of faults and the words of a proof mean, said once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from coilward.proving.proof import Proof, RowResult, Status

LOGIC: Final = ("logic alone", "logic plus hardware that prevents boiling")
"""The two classes in which a fault can be passed."""
CLASSES: Final[dict[str, str]] = {
    "logic alone": "With healthy actuators the logic holds it: the water stays under boiling and "
    "the joints under their limit.",
    "logic plus hardware that prevents boiling": "The logic sees it and helps; hardware that "
    "works without it, fitted and proven in this loop, prevents boiling.",
    "logic plus hardware that only lets the steam out": "The coil may boil. The open vent only "
    "lets the steam out. Never counted as passed.",
    "hardware only": "The logic can do nothing; hardware alone holds it. Never counted as passed.",
    "nothing helps": "Neither logic nor hardware of this loop holds it. It must not happen.",
}
"""By class, from the best to the worst."""


@dataclass(frozen=True)
class Word:
    """How a status is said, and its shape on the console."""

    word: str
    shape: str
    finding: bool
    """Whether it speaks against loop or logic: the command then ends with 1."""


WORDS: Final[dict[Status, Word]] = {
    "passed": Word("passed", "( o )", False),
    "escaped": Word("ESCAPED", "[ X ]", True),
    "boils": Word("BOILS", "[ X ]", True),
    "invalid": Word("INVALID", "[ ? ]", True),
    "lets the steam out": Word("no pass: steams out", "/ ! \\", False),
    "held by hardware": Word("no pass: hardware holds", "[ # ]", False),
    "not survivable": Word("no pass: nothing helps", "/ ! \\", False),
    "not shown": Word("not shown", "-   -", False),
    "not in this loop": Word("not in this loop", "-   -", False),
}
"""Word and shape, so that no colour is needed."""
TRIED: Final = frozenset(WORDS) - {"not shown", "not in this loop"}


def counts(row: RowResult) -> bool:
    """Whether the row was tried and is of a class in which it can pass."""
    return row.cls in LOGIC and row.status in TRIED


def failed(proof: Proof) -> list[RowResult]:
    """Rows that speak against the loop or the logic, in catalogue order."""
    return [
        row
        for row in proof.rows
        if WORDS[row.status].finding or (counts(row) and row.status != "passed")
    ]


def stands(proof: Proof) -> bool:
    """Whether every row that was tried and could pass did, and none was left unclear."""
    return not failed(proof) and any(counts(row) for row in proof.rows)


def one_in(runs: int) -> int:
    """Of how many cases fewer than one would escape, at 95 %, after so many runs without one.

    From (1 - p)**runs = 0.05: 299 runs bound it by 1 in 100, 29,956 by 1 in 10,000. The whole
    number below; 0 without a run.
    """
    if runs <= 0:
        return 0
    return int(1.0 / -math.expm1(math.log(0.05) / runs) + 1e-6)


def verdict_sentence(proof: Proof) -> str:
    """The whole proof in two or three sentences that promise nothing more."""
    tried = [row for row in proof.rows if counts(row)]
    bad = failed(proof)
    others = [row for row in proof.rows if row.status in TRIED and not counts(row)]
    if bad:
        named = ", ".join(row.fault for row in bad[:6]) + (", ..." if len(bad) > 6 else "")
        said = f"Not proven: {len(bad)} of {len(tried) + len(others)} faults end badly ({named})."
    elif tried:
        said = (
            f"Every one of the {len(tried)} faults tried that logic can hold was held: no boil, "
            "no joint over its limit, no deadline missed."
        )
    else:
        said = "Nothing was tried that logic can hold, so nothing is proven."
    if others:
        said += (
            f" {len(others)} more cannot be held by logic on this loop; none of them is a pass."
        )
    return said


def bound_sentence(proof: Proof) -> str:
    """What the number of runs says, and what it does not."""
    escapes = sum(row.escapes for row in proof.rows)
    if escapes:
        return (
            f"{proof.runs:,} runs, {escapes:,} escaped: no bound is stated. First mend what "
            "escaped."
        )
    if not proof.runs:
        return "No run was made, so no bound is stated."
    never = sum(row.runs for row in proof.rows if not counts(row))
    about = (
        f" {never:,} of the runs are of faults that are never counted as passed; there it only "
        "means that what can be asked for was done."
        if never
        else ""
    )
    return (
        f"{proof.runs:,} runs without an escape: at 95 % confidence fewer than 1 in "
        f"{one_in(proof.runs):,} such cases would escape. It says nothing of faults outside the "
        f"catalogue, of a loop that was not built as its file says, or of people.{about}"
    )
