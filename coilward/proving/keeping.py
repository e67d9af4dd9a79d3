"""What only a person at the board may let go: latches, the dry lock-out, and a damper's rest."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from coilward.controller.by_hand import HELD_S
from coilward.controller.interlocks import LATCHING
from coilward.controller.phases import BOOT, DRY, RESTING
from coilward.proving.bounds import samples
from coilward.proving.requirements import Signals
from coilward.proving.windows import runs_of
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


def gives_air(signals: Signals, tick_s: float) -> bool:
    """Whether the damper stood open, where no fire belongs, for longer than a hand may hold it.

    The check before a fire opens it for a moment, and somebody who mends it by the key.
    """
    open_here = np.isin(signals.phase, RESTING) & (signals.damper > 0.5)
    runs = runs_of(open_here)
    return bool(np.any(runs.ends - runs.starts > samples(HELD_S, tick_s) + 1))
