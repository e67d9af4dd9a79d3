"""From the night that a search found to the shortest story that shows the same.

Each step takes something away: the second of two faults, the spreads off their nominal numbers,
the weather, a lively load, digits. It is kept where the same thing is still violated or, where
nothing is, the margin is no larger. Nothing is drawn at random: the same night gives the same
story.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

from coilward.proving.case import DIMENSIONS, DRAWN, MIDDLE, Case, draw, place
from coilward.proving.hunt import Tried
from coilward.simulator.faults import FAULTS

SAME: Final = 0.01
"""A margin larger by less is the same margin."""
PLAIN: Final[dict[str, tuple[int, ...]]] = {
    "onset": (0, MIDDLE), "fire": (0, MIDDLE),
}  # fmt: skip
"""Places of the plainest night, the plainest first; all others are plainest in the middle."""
SIZES: Final = ("size", "second size")
COARSE: Final = (500, 250, 100, 50, 10)
"""A number that can't be plain is rounded to multiples of these, the coarsest first."""
MOST_ROUNDS: Final = 4


def shrink(found: Tried, play: Callable[[Case], Tried]) -> Tried:
    """The plainest night found that still shows what `found` shows."""
    kept = play(place(found.case, draw(found.case)))
    if not same(kept, found):
        # Thousandths can cost a violation that hung on less; the night stays as it was drawn.
        return found
    for _ in range(MOST_ROUNDS):
        before = kept.case
        kept = _alone(kept, found, play)
        kept = _nominal(kept, found, play)
        for number in range(DIMENSIONS):
            kept = _plain(kept, found, play, number)
        if kept.case == before:
            break
    return kept


def same(tried: Tried, found: Tried) -> bool:
    """Whether a night shows what the found one shows."""
    if not tried.what:
        return False
    if found.outcome.escaped:
        return tried.outcome.escaped and found.what in tried.outcome.missed
    return tried.least <= found.least + SAME


def _first(
    candidates: Iterator[Case], kept: Tried, found: Tried, play: Callable[[Case], Tried]
) -> Tried:
    """The first that shows the same; else the one that there is."""
    for case in candidates:
        if case == kept.case:
            continue
        tried = play(case)
        if same(tried, found):
            return tried
    return kept


def _alone(kept: Tried, found: Tried, play: Callable[[Case], Tried]) -> Tried:
    """One fault of a pair."""
    if len(kept.case.faults) == 1:
        return kept
    return _first(
        (replace(kept.case, faults=(name,)) for name in kept.case.faults), kept, found, play
    )


def _nominal(kept: Tried, found: Tried, play: Callable[[Case], Tried]) -> Tried:
    """All spreads at once, then every half of them, down to single ones by `_plain`."""
    low, high = len(DRAWN), DIMENSIONS
    middle = (low + high) // 2
    for first, last in ((low, high), (low, middle), (middle, high)):
        numbers = range(first, last)
        kept = _first(iter([_at(kept.case, dict.fromkeys(numbers, MIDDLE))]), kept, found, play)
    return kept


def _plain(kept: Tried, found: Tried, play: Callable[[Case], Tried], number: int) -> Tried:
    """One number, at its plainest or at least a round one."""
    return _first(_plainer(kept.case, number), kept, found, play)


def _plainer(case: Case, number: int) -> Iterator[Case]:
    now = round(1000 * draw(case)[number])
    name = DRAWN[number] if number < len(DRAWN) else ""
    seen = {now}
    places = [*PLAIN.get(name, (MIDDLE,))]
    if now in places:
        places = places[: places.index(now)]
    elif name in SIZES:
        places = _round_sizes(case, SIZES.index(name), now)
    else:
        places += [min(step * round(now / step), 999) for step in COARSE if now % step]
    for each in places:
        if each not in seen:
            seen.add(each)
            yield _at(case, {number: each})


def _round_sizes(case: Case, which: int, now: int) -> list[int]:
    """Places of sizes with one digit and with two: the usual size first, then the nearest."""
    if which >= len(case.faults):
        return [MIDDLE]
    fault = FAULTS.get(case.faults[which])
    if fault is None or fault.lowest is None or fault.highest is None:
        return [MIDDLE]
    low, wide = fault.lowest, fault.highest - fault.lowest
    size = low + wide * now / 1000.0
    sizes = [float(f"{size:.{digits}g}") for digits in (1, 2)]
    if fault.default_size is not None:
        sizes.insert(0, fault.default_size)
    places = [round(1000.0 * (each - low) / wide) for each in sizes if wide > 0.0]
    return [each for each in places if 0 <= each <= 999]


def _at(case: Case, places: dict[int, int]) -> Case:
    u = list(draw(case))
    for number, each in places.items():
        u[number] = each / 1000.0
    return place(case, u)
