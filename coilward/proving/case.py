"""A case: which faults, and a number. Its key alone gives all that is drawn for it."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import Final

from coilward.proving.tolerances import TOLERANCES

_KEY: Final = re.compile(r"([^+/@]+)(?:\+([^+/@]+))?/(\d+)@(\d+)")

DRAWN: Final = (
    "onset", "size", "second size", "second after", "fire", "lively", "moisture", "charge",
    "outdoor",
)  # fmt: skip
"""What the first numbers of a case stand for; one for each row of TOLERANCES follows."""
DIMENSIONS: Final = len(DRAWN) + len(TOLERANCES)


@dataclass(frozen=True)
class Case:
    """One night to try."""

    faults: tuple[str, ...]
    """One name, or two that are there together."""
    index: int
    seed: int

    @property
    def key(self) -> str:
        """As people type it: ``pump-stalls/17@1``, or ``pump-stalls+meter-dead/0@1``."""
        return f"{'+'.join(self.faults)}/{self.index}@{self.seed}"


def parse_case(text: str) -> Case:
    """The case of a key.

    Raises ValueError for a text that is no key.
    """
    found = _KEY.fullmatch(text)
    if found is None:
        raise ValueError(f'"{text}" is no case; one looks like pump-stalls/17@1')
    first, second, index, seed = found.groups()
    return Case((first,) if second is None else (first, second), int(index), int(seed))


def draw(case: Case) -> tuple[float, ...]:
    """DIMENSIONS numbers from 0 up to 1, from the key alone, alike on every machine."""
    digest = hashlib.shake_256(case.key.encode()).digest(8 * DIMENSIONS)
    words = (int.from_bytes(digest[n : n + 8], "big") for n in range(0, len(digest), 8))
    return tuple((word >> 11) * 2.0**-53 for word in words)
