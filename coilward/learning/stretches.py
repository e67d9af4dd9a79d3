"""A log cut at its gaps into stretches with even rows, on which the plant can be stepped."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.signal import lfilter

from coilward.learning.log import HELD, Log, Numbers
from coilward.loop.model import Loop
from coilward.simulator import slots as at
from coilward.simulator.actuators import DUMP_S, FANS_S

ROW_S: Final = 1.0
GAP_S: Final = 30.0
"""Longer than this nothing is made up between two rows."""
LEAST_S: Final = 300.0
"""A stretch that is shorter tells next to nothing."""
FLUSHED: Final = 3.0
"""A place counts once its pipes have been filled so often since the stretch, or the flow, began."""
FAR_S: Final = 3.0
"""From rows farther apart a switch's moment isn't known: then a place counts once flushed again."""
SWITCHED: Final = 0.05
"""Share of the most by which flow, fans or dump have then moved from row to row."""
BLUR_S, BLUR_ROWS = 8.0, 2.0
"""Standard deviation of the bell over which every reading is averaged, at the least, in seconds and
in rows. What drives the plant and what is held against it are blurred alike: that keeps noise out
and bends no step against another."""
REACH: Final = 3.0
"""So many standard deviations the bell is wide, to each side."""
SETTLES_S: Final = 180.0
"""From a stretch's start on: its pipes and thermometers are not known there."""
SEEN: Final = ("radiator_inlet", "radiator_outlet", "tank")


@dataclass(frozen=True, eq=False)
class Stretch:
    """One stretch of the log: what drives the plant, and what is held against it."""

    start_s: float
    rows: int
    outlet_c: Numbers
    """What the thermometer shows, blurred; its slope makes up for its lag."""
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
        _stretch(log, loop, p, part, gap_s)
        for part in np.split(rows, cuts)
        if log.time_s[part[-1]] - log.time_s[part[0]] >= LEAST_S
    ]


def _stretch(
    log: Log, loop: Loop, p: list[float], rows: NDArray[np.int64], gap_s: float
) -> Stretch:
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
            return _between(times, values, log.every_s, grid_s)
        return np.asarray(np.interp(grid_s, times, values))

    blur_s = max(BLUR_S, BLUR_ROWS * log.every_s)

    def blurred(values: Numbers, order: int = 0) -> Numbers:
        return np.asarray(gaussian_filter1d(
            values, blur_s / ROW_S, order=order, mode="nearest", truncate=REACH
        ))  # fmt: skip

    def driven(name: str) -> tuple[Numbers, Numbers]:
        values = even(name, np.nan)
        return blurred(values), blurred(values, order=1) / ROW_S

    outlet_c, outlet_k_s = driven("coil_outlet")
    tank_c, tank_k_s = driven("tank")
    room_c, room_k_s = np.full(count, loop.room.air_c), np.zeros(count)
    if log.has("room"):
        room_c, room_k_s = driven("room")
    flow_lpm = even("flow", np.nan)
    outdoor_c = even("outdoor", loop.site.outdoor_c)
    fans, dump = even("fans", 0.0), even("dump", 0.0)
    begins = flow_lpm < loop.meter.lowest_lpm
    if log.every_s > FAR_S:
        near_s = FAR_S + REACH * blur_s
        begins |= np.any([_switched(each, near_s) for each in (flow_lpm, fans, dump)], axis=0)
    moved = _flushed_l(flow_lpm, begins)
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
        counts &= _whole(log.time_s[inside], gap_s, REACH * blur_s)
        shown = np.interp(place, np.arange(count), blurred(even(name, np.nan)))
        readings[name], at_rows[name] = shown[counts], place[counts]
    return Stretch(
        start_s, count, outlet_c, outlet_k_s, tank_c, tank_k_s, blurred(flow_lpm),
        blurred(_follows(fans, FANS_S)), blurred(_follows(dump, DUMP_S)),
        even("damper", np.nan), room_c, room_k_s, outdoor_c, readings, at_rows,
    )  # fmt: skip


def _between(times: Numbers, values: Numbers, every_s: float, grid_s: Numbers) -> Numbers:
    """What is switched between two rows: half a row's time before the one that shows it."""
    middle_s, half_s = times[1:] - 0.5 * every_s, 0.5 * min(ROW_S, every_s)
    knots_s = np.column_stack([middle_s - half_s, middle_s + half_s]).ravel()
    levels = np.column_stack([values[:-1], values[1:]]).ravel()
    if not len(knots_s):
        return np.full(len(grid_s), values[0])
    return np.asarray(np.interp(grid_s, np.maximum.accumulate(knots_s), levels))


def _whole(time_s: Numbers, gap_s: float, reach_s: float) -> NDArray[np.bool_]:
    """Whether no gap, and not the end, lies within the bell about each reading."""
    ends = np.concatenate([time_s[:-1][np.diff(time_s) > gap_s], time_s[-1:]])
    begins = np.concatenate([time_s[:1], time_s[1:][np.diff(time_s) > gap_s]])
    part = np.searchsorted(begins, time_s, side="right") - 1
    return np.asarray((time_s - begins[part] >= reach_s) & (ends[part] - time_s >= reach_s))


def _litres(p: list[float]) -> tuple[float, float, float]:
    """What hot leg, radiator and back leg hold, as litres of water with the same heat."""
    l_per_j_k = 1.0 / (60.0 * p[at.W_PER_LPM_K])
    return (
        at.LINE_CELLS * p[at.HOT_J_K] * l_per_j_k,
        at.RADIATOR_CELLS * p[at.CORE_J_K] * l_per_j_k,
        at.LINE_CELLS * p[at.BACK_J_K] * l_per_j_k,
    )


def _flushed_l(flow_lpm: Numbers, begins: NDArray[np.bool_]) -> Numbers:
    """Litres that have passed since the last row at which it begins anew."""
    passed = np.cumsum(flow_lpm) * ROW_S / 60.0
    return np.asarray(passed - np.maximum.accumulate(np.where(begins, passed, 0.0)))


def _switched(values: Numbers, near_s: float) -> NDArray[np.bool_]:
    """Whether a value moves by much within so many seconds about each row."""
    rows = round(near_s / ROW_S)
    wide = np.pad(values, rows, mode="edge")
    change = np.abs(wide[2 * rows :] - wide[: -2 * rows])
    return np.asarray(change > SWITCHED * np.max(values, initial=0.0))


def _follows(told: Numbers, tau_s: float) -> Numbers:
    """A part that follows what it is told with a time constant; between two rows their mean."""
    share = 1.0 - np.exp(-ROW_S / tau_s)
    mean = 0.5 * (told + np.concatenate([told[:1], told[:-1]]))
    return np.asarray(
        lfilter([share], [1.0, share - 1.0], mean, zi=[(1.0 - share) * told[0]])[0]
    )
