"""Two decisions of one night side by side: which row came when, and how much earlier."""

from __future__ import annotations

from typing import NamedTuple

from coilward.hil.replay.changes import Begun, Change, begun


class Pair(NamedTuple):
    """A row's n-th time on both sides; None where a side hasn't got it."""

    name: str
    logged_s: float | None
    now_s: float | None

    @property
    def earlier_s(self) -> float | None:
        """How much earlier it counts now; negative where it is later."""
        if self.logged_s is None or self.now_s is None:
            return None
        return self.logged_s - self.now_s


def pairs(logged: list[Change], now: list[Change]) -> list[Pair]:
    """Every time that a row began to count, on either side, in order of the earlier one."""
    sides = [_by_name(begun(changes)) for changes in (logged, now)]
    found = []
    for name in {*sides[0], *sides[1]}:
        before, after = (side.get(name, []) for side in sides)
        for place in range(max(len(before), len(after))):
            found.append(
                Pair(name, *(side[place] if place < len(side) else None
                             for side in (before, after)))
            )  # fmt: skip
    return sorted(found, key=_when)


def first_outs(changes: list[Change]) -> list[Begun]:
    """Rows that were the first of their trouble, in order."""
    return [row for row in begun(changes) if row.first_out]


def _by_name(rows: list[Begun]) -> dict[str, list[float]]:
    times: dict[str, list[float]] = {}
    for row in rows:
        times.setdefault(row.name, []).append(row.time_s)
    return times


def _when(pair: Pair) -> tuple[float, str]:
    return min(at for at in (pair.logged_s, pair.now_s) if at is not None), pair.name
