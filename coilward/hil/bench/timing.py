"""Least, middle and worst of many times."""

from __future__ import annotations

from array import array
from statistics import median_low
from typing import NamedTuple


class Spread(NamedTuple):
    """What many times come to; NaN without any."""

    times: int
    least_s: float
    median_s: float
    worst_s: float


NEVER = Spread(0, float("nan"), float("nan"), float("nan"))


class Times:
    """Many times, kept as plain numbers."""

    def __init__(self) -> None:
        """None yet."""
        self._kept = array("d")

    def add(self, time_s: float) -> None:
        """One more."""
        self._kept.append(time_s)

    def spread(self) -> Spread:
        """What they come to; the median is one of them."""
        if not self._kept:
            return NEVER
        return Spread(len(self._kept), min(self._kept), median_low(self._kept), max(self._kept))

    def over(self, limit_s: float) -> int:
        """How many are longer than a limit."""
        return sum(1 for each in self._kept if each > limit_s)
