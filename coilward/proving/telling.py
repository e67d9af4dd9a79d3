"""Whether the temperature rows count as soon as the thermometers show that they should.

Judged by the readings alone, on what nobody can doubt: two outlet thermometers that agree, or
that are both lost; a tank thermometer that reads, or is lost together with the one at the
radiator's outlet, that stands in for it. Other rows may have answered long
before; each has to be there for the night in which it is the only one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from coilward.controller.interlocks import bit
from coilward.controller.phases import PHASES
from coilward.controller.sensing import BELIEVED_S
from coilward.proving.bits import Flags
from coilward.proving.bounds import Bounds, row_limit_s, samples
from coilward.proving.requirements import Signals
from coilward.proving.windows import Places, lengths_at, runs_of
from coilward.simulator.faults.fault import BURNING

LATER_S: Final = 1.0
"""Added to the time after which a reading that jumped is believed: a board may be late."""
AGREE_K: Final = 3.0
"""Two outlet thermometers that are further apart than that are in doubt."""


def _hot(signals: Signals, limit_c: float) -> Flags:
    a_c, b_c = signals.outlet_a_seen_c, signals.outlet_b_seen_c
    agree = abs(a_c - b_c) < AGREE_K
    lost = np.isnan(a_c) & np.isnan(b_c)
    return (agree & (np.maximum(a_c, b_c) >= limit_c)) | lost


def _warm(signals: Signals, limit_c: float) -> Flags:
    lost = np.isnan(signals.tank_seen_c) & np.isnan(signals.radiator_outlet_seen_c)
    return (signals.tank_seen_c >= limit_c) | lost


ASKED: Final[dict[str, Callable[[Signals, Bounds], Flags]]] = {
    "C03": lambda signals, bounds: _hot(signals, bounds.outlet_dump_c),
    "C04": lambda signals, bounds: _hot(signals, bounds.outlet_hh_c),
    "C05": lambda signals, bounds: _warm(signals, bounds.tank_trip_c),
    "C06": lambda signals, bounds: _warm(signals, bounds.tank_hh_c),
}
"""For each row that is asked for: where the readings show its cause."""
MUTED: Final = ("C03",)
"""Rows that let the slug pass which has stood in the coil."""


def _lasted(flags: Flags) -> Places:
    """For how many ticks each flag has been up, this one included."""
    return lengths_at(runs_of(flags), np.arange(len(flags)))


def late(signals: Signals, bounds: Bounds) -> list[str]:
    """The rows that did not count although the readings had shown their cause for long enough."""
    burning = np.isin(signals.phase, [PHASES.index(name) for name in BURNING])
    asked = burning & (signals.awake > 0.5)
    raised = signals.raised.astype(np.int64)
    found = []
    for name, shows in ASKED.items():
        cause = asked & shows(signals, bounds)
        if not cause.any():
            continue
        limit_s = row_limit_s(name) + BELIEVED_S + LATER_S
        due = _lasted(cause) > samples(limit_s, bounds.tick_s)
        if name in MUTED:
            due &= _lasted(asked) > samples(bounds.slug_s, bounds.tick_s)
        if (due & (raised & bit(name) == 0)).any():
            found.append(name)
    return found
