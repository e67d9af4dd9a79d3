"""Two loops side by side: the same numbers before and after, and which of them got worse."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

from coilward.sizing.row import Row

Word = Literal["better", "WORSE", "changed", "same", "new", "gone"]
SAME = 1e-9
"""Relative difference that rounding may leave."""


class Compared(NamedTuple):
    """One number of both loops; None where one of them does not have it."""

    row: Row
    """The one that tells name, chapter and unit."""
    before: Row | None
    after: Row | None
    word: Word


def compared(before: Sequence[Row], after: Sequence[Row]) -> tuple[Compared, ...]:
    """Every number of either loop, in the order of the second."""
    old = {row.key: row for row in before}
    new = {row.key: row for row in after}
    return tuple(
        Compared(row, old.get(key), new.get(key), word(old.get(key), new.get(key)))
        for key, row in (new | {key: row for key, row in old.items() if key not in new}).items()
    )


def word(before: Row | None, after: Row | None) -> Word:
    """What became of one number."""
    if after is None:
        return "gone"
    if before is None:
        return "new"
    if before.value == after.value or math.isclose(before.value, after.value, rel_tol=SAME):
        return "same"
    if before.words and before.words == after.words:
        return "same"
    if not after.better:
        return "changed"
    return "better" if (after.value > before.value) == (after.better == "more") else "WORSE"
