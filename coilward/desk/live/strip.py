"""The strip of the night: one row a second, for a day, in a ring that never grows."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from coilward.controller.estimating import ENDLESS_LPM
from coilward.desk.live.scene import Scene, scene_of
from coilward.desk.live.slopes import Slopes
from coilward.desk.live.source import Place
from coilward.hil.tick import Tick

Numbers = NDArray[np.float64]
Take = Callable[[Scene], float]

KEPT_S: Final = 86400
"""Rows that are kept: a day at one a second."""
EVERY_S: Final = 1.0

SIGNALS: Final[dict[str, Take]] = {
    "outlet_a_c": lambda scene: scene.tick.readings.coil_outlet_a_c,
    "outlet_b_c": lambda scene: scene.tick.readings.coil_outlet_b_c,
    "tank_c": lambda scene: scene.tick.readings.tank_c,
    "radiator_inlet_c": lambda scene: scene.tick.readings.radiator_inlet_c,
    "radiator_outlet_c": lambda scene: scene.tick.readings.radiator_outlet_c,
    "metal_c": lambda scene: scene.tick.readings.coil_metal_c,
    "flue_c": lambda scene: scene.tick.readings.flue_c,
    "room_c": lambda scene: scene.tick.readings.room_c,
    "line_c": lambda scene: scene.tick.readings.line_min_c,
    "flow_lpm": lambda scene: scene.seen.flow_lpm,
    "min_lpm": lambda scene: _told(scene.now.min_lpm),
    "heat_w": lambda scene: scene.heat_w,
    "valve": lambda scene: scene.tick.commands.valve,
    "fans": lambda scene: scene.tick.commands.fans,
    "supply_v": lambda scene: scene.tick.readings.supply_v,
}
"""The fifteen signals that are drawn, and how each is taken from a tick."""
BESIDE: Final[dict[str, Take]] = {
    "outlet_c": lambda scene: scene.seen.outlet_c,
    "phase": lambda scene: scene.tick.state.mode.phase,
    "raised": lambda scene: scene.tick.state.raised,
}
"""What is kept with them: for slopes, the ribbon of phases and the trips."""
COLUMNS: Final = ("time_s", *SIGNALS, *BESIDE)


def _told(lpm: float) -> float:
    return math.nan if lpm >= ENDLESS_LPM else lpm


class Strip:
    """The last day of one place."""

    def __init__(self, place: Place, rows: int = KEPT_S) -> None:
        self.place = place
        self._rows = np.full((len(COLUMNS), rows), np.nan)
        self.count = 0
        """Rows written since the start, also those that have been overwritten."""
        self._last_s = -math.inf

    def add(self, tick: Tick) -> None:
        """Keep a tick if it is the first of its second, or if a row has begun to count.

        A clock that ran back starts the strip afresh.
        """
        time_s = tick.readings.time_s
        if time_s < self._last_s:
            self.count, self._last_s = 0, -math.inf
        if time_s < self._last_s + EVERY_S and not self._trips(tick):
            return
        scene = scene_of(tick, self.place, Slopes())
        row = self.count % self._rows.shape[1]
        self._rows[0, row] = time_s
        self._rows[1:, row] = [take(scene) for take in (*SIGNALS.values(), *BESIDE.values())]
        self.count += 1
        self._last_s = math.floor(time_s / EVERY_S) * EVERY_S

    def _trips(self, tick: Tick) -> bool:
        if not self.count:
            return False
        was = self._rows[COLUMNS.index("raised"), (self.count - 1) % self._rows.shape[1]]
        return bool(tick.state.raised & ~int(was))

    def columns(
        self, last_s: float = math.inf, names: Sequence[str] = COLUMNS
    ) -> dict[str, Numbers]:
        """Some columns of the last ``last_s`` seconds, in order of time; copies."""
        kept = min(self.count, self._rows.shape[1])
        if math.isfinite(last_s):
            # Trips may add rows to the one a second: no second holds more than its ticks.
            kept = min(kept, math.ceil(last_s / EVERY_S / self.place.loop.tick_s) + 1)
        places = np.arange(self.count - kept, self.count) % self._rows.shape[1]
        time_s = self._rows[0, places]
        if kept:
            places = places[np.searchsorted(time_s, time_s[-1] - last_s) :]
        return self._at(places, names)

    def between(
        self, start_s: float, end_s: float, names: Sequence[str] = COLUMNS
    ) -> dict[str, Numbers]:
        """Some columns between two times, both included; copies."""
        kept = min(self.count, self._rows.shape[1])
        places = np.arange(self.count - kept, self.count) % self._rows.shape[1]
        first, last = np.searchsorted(self._rows[0, places], [start_s, end_s + 1e-9])
        return self._at(places[first:last], names)

    def _at(self, places: NDArray[np.int64], names: Sequence[str]) -> dict[str, Numbers]:
        return {name: self._rows[COLUMNS.index(name), places] for name in names}

    def drawn(self, start_s: float, end_s: float, stretches: int) -> dict[str, Numbers]:
        """The fifteen signals between two times, thinned without losing a peak."""
        kept = self.between(start_s, end_s, ("time_s", *SIGNALS))
        return kept if len(kept["time_s"]) <= 2 * stretches else _thinned(kept, stretches)

    def ends(self) -> tuple[float, float]:
        """First and last time that are kept; zeros where nothing is."""
        if not self.count:
            return 0.0, 0.0
        size = self._rows.shape[1]
        first = self.count % size if self.count > size else 0
        return float(self._rows[0, first]), float(self._rows[0, (self.count - 1) % size])


def _thinned(columns: Mapping[str, Numbers], stretches: int) -> dict[str, Numbers]:
    """Least and most of every stretch of time; NaN in one that nothing is known of."""
    time_s = columns["time_s"]
    edges_s = np.linspace(time_s[0], time_s[-1], stretches + 1)
    starts = np.searchsorted(time_s, edges_s[:-1])
    empty = np.diff([*starts, len(time_s)]) == 0
    width_s = edges_s[1] - edges_s[0]
    halves = edges_s[:-1, None] + width_s * np.array([0.25, 0.75])
    thin = {"time_s": halves.ravel()}
    for name in SIGNALS:
        ends = [ends_of.reduceat(columns[name], starts) for ends_of in (np.fmin, np.fmax)]
        pairs = np.column_stack(ends)
        pairs[empty] = np.nan
        thin[name] = pairs.ravel()
    return thin


def trips(columns: Mapping[str, Numbers]) -> list[tuple[float, int]]:
    """When rows began to count: (time_s, mask of the new ones)."""
    found: list[tuple[float, int]] = []
    was = 0
    if len(columns["raised"]):
        # What counted before the stretch began did not begin in it.
        was = int(columns["raised"][0])
    changes = np.flatnonzero(np.diff(columns["raised"])) + 1
    for index in changes:
        raised = int(columns["raised"][index])
        if raised & ~was:
            found.append((float(columns["time_s"][index]), raised & ~was))
        was = raised
    return found


def stays(columns: Mapping[str, Numbers]) -> list[tuple[float, float, int]]:
    """The phases one after the other: (from, to, phase)."""
    time_s, phase = columns["time_s"], columns["phase"]
    if not len(time_s):
        return []
    starts = [0, *(np.flatnonzero(np.diff(phase)) + 1).tolist()]
    ends = [*starts[1:], len(time_s) - 1]
    return [
        (float(time_s[start]), float(time_s[end]), int(phase[start]))
        for start, end in zip(starts, ends, strict=True)
    ]
