"""What counts as a trip: the moments around which a journal keeps everything for ever."""

from __future__ import annotations

from typing import Final

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import BOOT, DEGRADED, DRY, DUMP, NO_FLOW, SHUTDOWN
from coilward.controller.state import State

BEFORE_S: Final = 120.0
AFTER_S: Final = 600.0
LOUDEST_RANKS: Final = (1, 2)
SEVERITY: Final = {DEGRADED: 1, DUMP: 2, SHUTDOWN: 3, NO_FLOW: 4, BOOT: 5, DRY: 6}
"""Phases of trouble, the worst last; every other phase is none."""


def trip_rows(before: int, now: int) -> int:
    """Those rows that begin to count and call for action within minutes."""
    begun = now & ~before
    return sum(
        1 << place for place, row in enumerate(ROWS)
        if begun >> place & 1 and row.rank in LOUDEST_RANKS
    )  # fmt: skip


def worse(before: int, now: int) -> bool:
    """Whether a phase is one of more trouble than another."""
    return SEVERITY.get(now, 0) > SEVERITY.get(before, 0)


def is_trip(before: State, now: State) -> bool:
    """Whether a tick is the first of some trouble, or of a worse one."""
    if now.raised == before.raised and now.mode.phase == before.mode.phase:
        return False
    return trip_rows(before.raised, now.raised) != 0 or worse(before.mode.phase, now.mode.phase)
