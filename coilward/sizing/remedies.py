"""What to change next: each change derived anew, and whether it is enough alone."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Final, NamedTuple

from coilward.loop.derived import Derived, derive
from coilward.loop.findings import Finding
from coilward.loop.model import Loop
from coilward.sizing import changing
from coilward.sizing.margins import Margins, margins

Judge = Callable[[Loop, Derived], tuple[Finding, ...]]
"""What is said against a loop: the same rule as for a check."""


class Change(NamedTuple):
    """One thing that can be built otherwise, in growing steps."""

    key: str
    words: str
    change: Callable[[Loop, float], Loop]
    factors: tuple[float, ...]
    part: str = ""
    """Section that the loop must have for it."""


class Remedy(NamedTuple):
    """One change: the smallest step that is enough, or else the largest one, and what it brings.

    Where nothing forbids a fire, the first step is told.
    """

    key: str
    words: str
    factor: float
    after: Margins
    enough: bool
    """Whether nothing forbids a fire any more with this change alone."""
    left: tuple[str, ...]
    """Keys of the findings that still forbid one."""


MORE: Final = (1.25, 1.5, 1.75, 2.0, 2.5, 3.0)
CHANGES: Final = (
    Change("radiator", "more radiator", changing.radiator, MORE, "radiator"),
    Change("flow", "more flow", changing.flow, MORE),
    Change("coil", "longer coil, same heat", changing.coil, MORE),
    Change("heat", "less fire", changing.heat, (0.8, 0.7, 0.6, 0.5, 0.4)),
    Change("tank", "larger tank", changing.tank, MORE),
    Change("dump", "more dump", changing.dump, MORE, "dump"),
)  # fmt: skip


def stopping(findings: tuple[Finding, ...]) -> tuple[str, ...]:
    """The keys of those that forbid a fire, each once."""
    return tuple(dict.fromkeys(each.key for each in findings if each.severity == "stop"))


def remedies(loop: Loop, today: date, judge: Judge) -> tuple[Remedy, ...]:
    """Every change that this loop has a part for; none is judged by anything but a new loop."""
    bad = bool(stopping(judge(loop, derive(loop, today))))
    return tuple(
        _best(loop, change, today, judge, bad)
        for change in CHANGES
        if not change.part or getattr(loop, change.part) is not None
    )


def _best(loop: Loop, change: Change, today: date, judge: Judge, bad: bool) -> Remedy:
    found = _tried(loop, change, change.factors[0], today, judge)
    for factor in change.factors[1:] if bad else ():
        if found.enough:
            break
        found = _tried(loop, change, factor, today, judge)
    return found


def _tried(loop: Loop, change: Change, factor: float, today: date, judge: Judge) -> Remedy:
    other = change.change(loop, factor)
    derived = derive(other, today)
    left = stopping(judge(other, derived))
    return Remedy(change.key, change.words, factor, margins(other, derived), not left, left)
