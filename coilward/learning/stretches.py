"""A log cut at its gaps into stretches with even rows, on which the plant can be stepped."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from coilward.learning.log import HELD, Log, Numbers
from coilward.learning.smoothing import smoothed
from coilward.loop.model import Loop
from coilward.simulator import slots as at
from coilward.simulator.actuators import DUMP_S, FANS_S

ROW_S: Final = 1.0
GAP_S: Final = 30.0
"""Longer than this nothing is made up between two rows."""
LEAST_S: Final = 300.0
"""A stretch that is shorter tells next to nothing."""
WIDEST_S: Final = 240.0
WIDEST_ROOM_S: Final = 900.0
"""Widest windows of the smoothing."""
QUANTUM_K: Final = 0.05
FLUTTER_LPM: Final = 0.02
"""What readings are taken to be rounded to at the least."""
FLUSHED: Final = 3.0
"""A place counts once its pipes have been filled so often since the stretch, or the flow, began."""
SETTLES_S: Final = 180.0
"""From a stretch's start on: its pipes and thermometers are not known there."""
SEEN: Final = ("radiator_inlet", "radiator_outlet", "tank")


@dataclass(frozen=True, eq=False)
class Stretch:
    """One stretch of the log: what drives the plant, and what is held against it."""

    start_s: float
    rows: int
    outlet_c: Numbers
    """What the thermometer shows, smoothed; its slope makes up for its lag."""
    outlet_k_s: Numbers
    tank_c: Numbers
    tank_k_s: Numbers
    flow_lpm: Numbers
    fans: Numbers
    dump: Numbers
    damper: Numbers
    room_c: Numbers
    room_k_s: Numbers
    outdoor_c: Numbers
    readings: dict[str, Numbers]
    """Of each place that is seen: the readings that count, at `at_rows`."""
    at_rows: dict[str, Numbers]
    """Where they lie, in rows of this stretch, not whole."""

    def __post_init__(self) -> None:
        """Raises ValueError for a stretch without rows."""
        if self.rows < 2:
            raise ValueError("a stretch needs two rows")

    @property
    def time_s(self) -> Numbers:
        """Time of each row since the log began."""
        return np.asarray(self.start_s + ROW_S * np.arange(self.rows), dtype=float)


def driving(loop: Loop) -> list[str]:
    """The channels without which the plant can't be driven."""
    return ["coil_outlet", "tank", "flow", *(["room", "fans"] if loop.radiator else [])]


def stretches(log: Log, loop: Loop, p: list[float]) -> list[Stretch]:
    """Every stretch in which all that drives the plant was read."""
    names = [name for name in driving(loop) if name not in HELD]
    whole = np.all([np.isfinite(log.columns[name]) for name in names], axis=0)
    rows = np.asarray(np.flatnonzero(whole), dtype=np.int64)
    if len(rows) < 2:
        return []
    gap_s = max(GAP_S, 3.0 * log.every_s)
    cuts = np.flatnonzero(np.diff(log.time_s[rows]) > gap_s) + 1
    return [
        _stretch(log, loop, p, part)
        for part in np.split(rows, cuts)
        if log.time_s[part[-1]] - log.time_s[part[0]] >= LEAST_S
    ]


def _stretch(log: Log, loop: Loop, p: list[float], rows: NDArray[np.int64]) -> Stretch:
    known_s = log.time_s[rows]
    start_s = float(known_s[0])
    count = int((known_s[-1] - start_s) / ROW_S) + 1
    grid_s = np.asarray(start_s + ROW_S * np.arange(count), dtype=float)

    def even(name: str, otherwise: float) -> Numbers:
        if not log.has(name):
            return np.full(count, otherwise)
        known = np.isfinite(log.columns[name])
        times, values = log.time_s[known], log.columns[name][known]
        if name in HELD:
            before = np.searchsorted(times, grid_s + 1e-9, side="right") - 1
            return np.asarray(values[np.maximum(before, 0)])
        return np.asarray(np.interp(grid_s, times, values))

    def smooth(name: str, widest_s: float, quantum: float) -> tuple[Numbers, Numbers]:
        known = np.isfinite(log.columns[name])
        return smoothed(
            log.time_s[known], log.columns[name][known], grid_s, log.every_s, widest_s=widest_s,
            least_noise=quantum / np.sqrt(12.0),
        )

    outlet_c, outlet_k_s = smooth("coil_outlet", WIDEST_S, QUANTUM_K)
    tank_c, tank_k_s = smooth("tank", WIDEST_S, QUANTUM_K)
    room_c, room_k_s = np.full(count, loop.room.air_c), np.zeros(count)
    if log.has("room"):
        room_c, room_k_s = smooth("room", WIDEST_ROOM_S, QUANTUM_K)
    flow_lpm, _ = smooth("flow", WIDEST_S, FLUTTER_LPM)
    flow_lpm = np.maximum(flow_lpm, 0.0)
    outdoor_c = even("outdoor", loop.site.outdoor_c)
    moved = _flushed_l(flow_lpm, loop.meter.lowest_lpm)
    readings, at_rows = {}, {}
    filled_l = 0.0
    for name, place_l in zip(SEEN, _litres(p), strict=True):
        filled_l += place_l
        known = np.zeros(0) if name not in log.columns else log.columns[name]
        if not len(known):
            continue
        inside = (log.time_s >= start_s) & (log.time_s <= grid_s[-1]) & np.isfinite(known)
        place = (log.time_s[inside] - start_s) / ROW_S
        counts = moved[np.round(place).astype(int)] > FLUSHED * filled_l
        counts &= place * ROW_S > SETTLES_S
        readings[name], at_rows[name] = known[inside][counts], place[counts]
    return Stretch(
        start_s, count, outlet_c, outlet_k_s, tank_c, tank_k_s, flow_lpm,
        _follows(even("fans", 0.0), FANS_S), _follows(even("dump", 0.0), DUMP_S),
        even("damper", np.nan), room_c, room_k_s, outdoor_c, readings, at_rows,
    )  # fmt: skip


def _litres(p: list[float]) -> tuple[float, float, float]:
    """What hot leg, radiator and back leg hold, as litres of water with the same heat."""
    l_per_j_k = 1.0 / (60.0 * p[at.W_PER_LPM_K])
    return (
        at.LINE_CELLS * p[at.HOT_J_K] * l_per_j_k,
        at.RADIATOR_CELLS * p[at.CORE_J_K] * l_per_j_k,
        at.LINE_CELLS * p[at.BACK_J_K] * l_per_j_k,
    )


def _flushed_l(flow_lpm: Numbers, lowest_lpm: float) -> Numbers:
    """Litres that have passed since the flow last began."""
    passed = np.cumsum(flow_lpm) * ROW_S / 60.0
    still = flow_lpm < lowest_lpm
    return np.asarray(passed - np.maximum.accumulate(np.where(still, passed, 0.0)))


def _follows(told: Numbers, tau_s: float) -> Numbers:
    """A part that follows what it is told with a time constant."""
    share = 1.0 - np.exp(-ROW_S / tau_s)
    return np.asarray(
        lfilter([share], [1.0, share - 1.0], told, zi=[(1.0 - share) * told[0]])[0]
    )
