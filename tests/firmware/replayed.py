"""A recorded night, decided again by a core."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from coilward.hil.tick import asked, flat
from tests.firmware.wild import columns_of, difference


def difference_on(night, core) -> str:
    """The first number that is decided differently; nothing for none.

    Each tick begins from what the core itself made of the one before, but for the states that
    the night sets.
    """
    starts = [*night.origins, len(night.ticks)]
    for start, end in pairwise(starts):
        ticks = night.ticks[start:end]
        came = np.array([tick.readings for tick in ticks]).T
        was = [np.array([row]).T for row in flat(night.origins[start])]
        got = core.block(came, [asked(tick.requests) for tick in ticks], *was, each=False)
        theirs = columns_of((tick.state, tick.commands) for tick in ticks)
        if found := difference(got, theirs):
            return f"from tick {start} on: {found}"
    return ""
