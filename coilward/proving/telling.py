"""Whether the temperature rows count as soon as the thermometers show that they should.

Judged by the readings alone, on what nobody can doubt: two outlet thermometers that agree, or
that are both lost; a tank thermometer that reads, or is lost. Other rows may have answered long
before; each has to be there for the night in which it is the only one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.interlocks import INDEX, ROWS
from coilward.controller.phases import PHASES
from coilward.proving.bounds import samples
from coilward.proving.windows import Floats

Truths = NDArray[np.bool_]

WITH_A_FIRE: Final = ("warm-up", "run", "overheat dump", "shutdown", "degraded run")
DOUBTED_S: Final = 3.5
"""A reading that jumped is not believed for so long."""
AGREE_K: Final = 3.0
"""Two outlet thermometers that are further apart than that are in doubt."""


class Shown(NamedTuple):
    """One value a tick: what the thermometers show, and what the board makes of it."""

    outlet_a_c: Floats
    outlet_b_c: Floats
    tank_c: Floats
    raised: Floats
    """Rows that count, as a mask."""
    phase: Floats
    awake: Floats


class Trips(NamedTuple):
    """What the rows compare with, degC, and for how long a hot slug is let pass."""

    outlet_dump_c: float
    outlet_hh_c: float
    tank_trip_c: float
    tank_hh_c: float
    tank_alone: bool
    """No thermometer at the radiator's outlet stands in for a lost one in the tank."""
    slug_s: float
    tick_s: float


def _hot(shown: Shown, limit_c: float) -> Truths:
    agree = abs(shown.outlet_a_c - shown.outlet_b_c) < AGREE_K
    lost = np.isnan(shown.outlet_a_c) & np.isnan(shown.outlet_b_c)
    hotter_c = np.maximum(shown.outlet_a_c, shown.outlet_b_c)
    return (agree & (hotter_c >= limit_c)) | lost


def _warm(shown: Shown, limit_c: float, alone: bool) -> Truths:
    lost = np.isnan(shown.tank_c) & alone
    return (shown.tank_c >= limit_c) | lost


ASKED: Final[dict[str, Callable[[Shown, Trips], Truths]]] = {
    "C03": lambda shown, trips: _hot(shown, trips.outlet_dump_c),
    "C04": lambda shown, trips: _hot(shown, trips.outlet_hh_c),
    "C05": lambda shown, trips: _warm(shown, trips.tank_trip_c, trips.tank_alone),
    "C06": lambda shown, trips: _warm(shown, trips.tank_hh_c, trips.tank_alone),
}
"""For each row that is asked for: whether the readings show its cause."""
MUTED: Final = ("C03",)
"""Rows that let the slug pass which has stood in the coil."""


def _lasted(true: Truths) -> NDArray[np.int_]:
    """For how many ticks each has been so, this one included."""
    ticks = np.arange(true.size)
    last_not = np.maximum.accumulate(np.where(true, -1, ticks))
    return ticks - last_not


def late(shown: Shown, trips: Trips) -> list[str]:
    """The rows that did not count although the readings had shown their cause for long enough."""
    burning = np.isin(shown.phase, [PHASES.index(name) for name in WITH_A_FIRE])
    asked = burning & (shown.awake > 0.5)
    passed = _lasted(asked) > samples(trips.slug_s, trips.tick_s)
    raised = shown.raised.astype(np.int64)
    found = []
    for name, shows in ASKED.items():
        cause = asked & shows(shown, trips)
        if not cause.any():
            continue
        limit_s = DOUBTED_S + float(ROWS[INDEX[name]].limit_s)
        due = _lasted(cause) > samples(limit_s, trips.tick_s)
        if name in MUTED:
            due &= passed
        if (due & (raised >> INDEX[name] & 1 == 0)).any():
            found.append(name)
    return found
