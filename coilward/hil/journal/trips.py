"""What counts as a trip: a row that asks for a person soon, or a phase that got worse."""

from __future__ import annotations

from typing import Final

from coilward.controller import phases as ph
from coilward.controller.interlocks import ROWS
from coilward.controller.state import State

RANKED: Final = sum(1 << place for place, row in enumerate(ROWS) if row.rank <= 2)
"""Rows of rank 1 or 2."""
_WORSE: Final = (ph.DUMP, ph.DEGRADED, ph.SHUTDOWN, ph.NO_FLOW, ph.DRY)
"""From bad to worst; every other phase is none of them."""
BADNESS: Final = tuple(
    1 + _WORSE.index(phase) if phase in _WORSE else 0 for phase in range(len(ph.PHASES))
)


def trips(was: State | None, now: State) -> tuple[int, bool]:
    """Rows of rank 1 or 2 that began to count, and whether the phase got worse."""
    raised = 0 if was is None else was.raised
    before = 0 if was is None else _bad(was)
    return now.raised & ~raised & RANKED, _bad(now) > before


def _bad(state: State) -> int:
    phase = state.mode.phase
    return BADNESS[phase] if 0 <= phase < len(BADNESS) else 0
