"""One thing that was shown of the finite part, or not."""

from __future__ import annotations

from typing import NamedTuple


class Result(NamedTuple):
    """One property, what it was held against, and where it breaks."""

    name: str
    looked_at: int
    """How many states, ticks or calls it was held against."""
    counterexample: str
    """Empty where the property holds."""
