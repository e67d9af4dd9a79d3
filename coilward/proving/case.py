"""A case: which faults, and a number. Its key alone gives all that is drawn for it."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from coilward.proving.tolerances import TOLERANCES

_KEY: Final = re.compile(
    r"([^+/@]+)(?:\+([^+/@]+))?/(\d+)@(\d+)(=(?:\d+:\d{1,3}(?:,\d+:\d{1,3})*)?)?"
)

DRAWN: Final = (
    "onset", "size", "second size", "second after", "fire", "lively", "moisture", "charge",
    "outdoor",
)  # fmt: skip
"""What the first numbers of a case stand for; one for each row of TOLERANCES follows."""
DIMENSIONS: Final = len(DRAWN) + len(TOLERANCES)
MIDDLE: Final = 500
"""Thousandths; a tolerance is at its nominal number there."""


@dataclass(frozen=True)
class Case:
    """One night to try."""

    faults: tuple[str, ...]
    """One name, or two that are there together."""
    index: int
    seed: int
    placed: tuple[tuple[int, int], ...] | None = None
    """Which of the numbers are where, in thousandths, the others in the middle: a case that was
    searched for. None: all are drawn from the key."""

    @property
    def key(self) -> str:
        """As people type it: ``pump-stalls/17@1``, or ``pump-stalls+meter-dead/0@1``.

        One that was searched for has its places behind it: ``pump-stalls/17@1=0:125,4:900``.
        """
        placed = self.placed
        places = "" if placed is None else "=" + ",".join(f"{n}:{each}" for n, each in placed)
        return f"{'+'.join(self.faults)}/{self.index}@{self.seed}{places}"


def parse_case(text: str) -> Case:
    """The case of a key.

    Raises ValueError for a text that is no key.
    """
    found = _KEY.fullmatch(text)
    if found is None:
        raise ValueError(f'"{text}" is no case; one looks like pump-stalls/17@1')
    first, second, index, seed, places = found.groups()
    placed = None if places is None else _places(text, places.removeprefix("="))
    faults = (first,) if second is None else (first, second)
    return Case(faults, int(index), int(seed), placed)


def _places(text: str, places: str) -> tuple[tuple[int, int], ...]:
    pairs = [each.split(":") for each in places.split(",") if each]
    found = {int(number): int(thousandths) for number, thousandths in pairs}
    if len(found) < len(pairs) or any(number >= DIMENSIONS for number in found):
        raise ValueError(
            f'"{text}" is no case; places are 0 to {DIMENSIONS - 1}, each once, as in =0:125,4:900'
        )
    return tuple(sorted(found.items()))


def place(case: Case, u: Sequence[float]) -> Case:
    """The case with its numbers at these places, to the next thousandth."""
    nearest = [min(max(round(1000.0 * each), 0), 999) for each in u]
    return replace(
        case, placed=tuple((n, each) for n, each in enumerate(nearest) if each != MIDDLE)
    )


def draw(case: Case) -> tuple[float, ...]:
    """DIMENSIONS numbers from 0 up to 1, from the key alone, alike on every machine."""
    if case.placed is not None:
        found = dict(case.placed)
        return tuple(found.get(number, MIDDLE) / 1000.0 for number in range(DIMENSIONS))
    digest = hashlib.shake_256(case.key.encode()).digest(8 * DIMENSIONS)
    words = (int.from_bytes(digest[n : n + 8], "big") for n in range(0, len(digest), 8))
    return tuple((word >> 11) * 2.0**-53 for word in words)
