"""One counter a row, and all rows counted at once.

A cause must last before it is believed. Each interlock row has a saturating counter of the
ticks for which its cause has been present without a gap. The counters of all rows lie side
by side in *bit planes*: bit r of plane k is bit k of row r's counter. Adding one to every
counter whose cause is present is then a row of half adders, and comparing every counter
with its own threshold is one comparator: the work is the same whatever the number of rows
and whatever the causes, and a quiet tick costs nothing.
"""

from __future__ import annotations

PLANES = 12
"""Counters run to 4,095 ticks: 17 minutes at a quarter of a second."""

LONGEST = (1 << PLANES) - 1

Counters = tuple[int, int, int, int, int, int, int, int, int, int, int, int]

QUIET: Counters = (0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)


def threshold_planes(ticks: list[int]) -> Counters:
    """The thresholds of all rows, row by row in ticks, as bit planes.

    Raises ValueError for a threshold that no counter can reach.
    """
    for row, value in enumerate(ticks):
        if not 1 <= value <= LONGEST:
            raise ValueError(f"row {row}: a debounce of {value} ticks; accepted: 1 to {LONGEST}")
    planes = [sum(((t >> k) & 1) << row for row, t in enumerate(ticks)) for k in range(PLANES)]
    p = planes
    return (p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8], p[9], p[10], p[11])


def count(present: int, counters: Counters) -> Counters:
    """Counters one tick later: up by one where the cause is present, else zero."""
    if present == 0:
        return QUIET
    c0, c1, c2, c3, c4, c5, c6, c7, c8, c9, c10, c11 = counters
    at_top = c0 & c1 & c2 & c3 & c4 & c5 & c6 & c7 & c8 & c9 & c10 & c11
    k0 = present & ~at_top
    k1 = c0 & k0
    k2 = c1 & k1
    k3 = c2 & k2
    k4 = c3 & k3
    k5 = c4 & k4
    k6 = c5 & k5
    k7 = c6 & k6
    k8 = c7 & k7
    k9 = c8 & k8
    k10 = c9 & k9
    k11 = c10 & k10
    return (
        (c0 ^ k0) & present,
        (c1 ^ k1) & present,
        (c2 ^ k2) & present,
        (c3 ^ k3) & present,
        (c4 ^ k4) & present,
        (c5 ^ k5) & present,
        (c6 ^ k6) & present,
        (c7 ^ k7) & present,
        (c8 ^ k8) & present,
        (c9 ^ k9) & present,
        (c10 ^ k10) & present,
        (c11 ^ k11) & present,
    )


def reached(present: int, counters: Counters, thresholds: Counters) -> int:
    """Mask of the rows whose cause is present and has lasted for its threshold."""
    if present == 0:
        return 0
    above = 0
    equal = present
    for k in range(PLANES - 1, -1, -1):
        above |= equal & counters[k] & ~thresholds[k]
        equal &= ~(counters[k] ^ thresholds[k])
    return above | equal
