"""One number of the sums, told to people the same way on console, page and in JSON."""

from __future__ import annotations

from typing import Literal, NamedTuple

Better = Literal["more", "less", ""]
"""Which way a number has to move to leave more room; empty where neither does."""


class Row(NamedTuple):
    """One number: ``unit`` is the unit word of `coilward.loop.units.show`."""

    key: str
    chapter: str
    name: str
    value: float
    unit: str
    better: Better = ""
    note: str = ""
    """What it rests on, or what to do with it."""
    words: str = ""
    """Said in the place of the number where it would mislead, such as "boils"."""
