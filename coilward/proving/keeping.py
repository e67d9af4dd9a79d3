"""What only a person at the board may let go: latches, and the dry lock-out."""

from __future__ import annotations

from collections.abc import Iterable

from coilward.controller.interlocks import LATCHING
from coilward.controller.phases import BOOT, DRY
from coilward.simulator.run import Entry


def let_go(phase: int, latched: int, log: Iterable[Entry]) -> bool:
    """Whether a night's log shows a latch, or the lock-out, that went by itself.

    ``phase`` and ``latched`` are those before the log. A row that latches and counts is latched,
    and stays so until the reset button is held; so does the lock-out, over any restart.
    """
    locked = phase == DRY
    for entry in log:
        locked = locked or entry.phase == DRY
        unlocked = locked and entry.phase not in (BOOT, DRY)
        if entry.raised & LATCHING & ~entry.latched:
            return True
        if not entry.reset and (unlocked or latched & ~entry.latched):
            return True
        locked, latched = locked and not unlocked, entry.latched
    return False
