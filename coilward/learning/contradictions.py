"""Where a log contradicts itself: before the fit from its rows, after it from what doesn't fit.

A number learned from a log that is wrong is worse than none, so such a log is refused, with the
time, the line and the channel.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations, pairwise
from typing import Final, NamedTuple

import numpy as np

from coilward.learning.fitting import Fit
from coilward.learning.following import Plant
from coilward.learning.log import CHANNELS, Log
from coilward.learning.numbers import Number
from coilward.learning.stretches import driving
from coilward.loop.derived import Derived
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.model import Loop
from coilward.loop.units import show

HOT_WATER: Final = ("coil_outlet", "radiator_inlet", "radiator_outlet", "tank")
OVER_BOILING_K: Final = 3.0
WARMS_K: Final = 4.0
"""A tank that warms by so much got its heat from somewhere."""
RISE_K: Final = 1.0
STILL_FOR_S: Final = 1800.0
MOVES_K: Final = 10.0
BLOCK_S: Final = 300.0
BLOCK_K: Final = 1.0
"""Mean misfit over five minutes that no good log of a good model has."""
FAR: Final = 3.3
"""So many standard deviations from what is believed is no accident."""
NOISE_K: Final = 0.1
"""Scatter by which two readings of the same log are compared."""
FITS: Final = 8.0
"""Misfit of a log whose thermometers agree but for constant offsets."""
BETTER: Final = 0.6
"""A swap is named if it leaves less than this of the misfit."""
WATER_LOW, WATER_HIGH = 0.5, 2.0


def refuse(log: Log, at_s: float | None, channel: str, value: str, problem: str, want: str) -> None:
    """Refuse the log at a time. Raises InputRefused, always."""
    line = None if at_s is None else log.line_at(at_s)
    when = "" if at_s is None else f", {clock(at_s)} after its start"
    raise InputRefused([Fault(log.file, line, channel, value, f"{problem}{when}", want)])


def clock(at_s: float) -> str:
    """Hours, minutes and seconds."""
    whole = int(at_s)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def check_rows(log: Log, loop: Loop, derived: Derived) -> None:
    """What the rows alone say. Raises InputRefused at the first contradiction."""
    _there(log, loop)
    for name in HOT_WATER:
        if log.has(name):
            over = log.columns[name] > derived.boil_c + OVER_BOILING_K
            if over.sum() >= 3:
                row = int(np.flatnonzero(over)[0])
                reading = show(float(log.columns[name][row]), "c", loop.units)
                boils = show(derived.boil_c, "c", loop.units)
                refuse(log, float(log.time_s[row]), name, reading,
                       f"water boils at {boils} here, so this unit or this thermometer is wrong",
                       "readings under boiling, in the unit that the heading says")  # fmt: skip
    _stands_still(log, loop)
    _heat_without_flow(log, loop)
    _flow_without_rise(log, loop)


def _there(log: Log, loop: Loop) -> None:
    lacking = [name for name in driving(loop) if not log.has(name)]
    if lacking:
        words = ", ".join(CHANNELS[name].words for name in lacking)
        examples = ", ".join(
            f"{name.replace('_', ' ')} {CHANNELS[name].quantity.unit or '%'}" for name in lacking
        )
        refuse(log, None, ", ".join(lacking), "", f"the log has no {words}",
               f"columns headed {examples}, or a map of the columns (--columns) in which, for "
               'example, fans = { always = "100 %" }')  # fmt: skip


def _stands_still(log: Log, loop: Loop) -> None:
    """A thermometer that shows the same for half an hour while the coil's outlet moves."""
    moving = log.columns["flow"] >= loop.meter.lowest_lpm
    for name in HOT_WATER[1:]:
        if not log.has(name):
            continue
        known = np.flatnonzero(np.isfinite(log.columns[name]))
        values = log.columns[name][known]
        edges = np.concatenate([[0], np.flatnonzero(np.diff(values) != 0.0) + 1, [len(values)]])
        for first, last in pairwise(edges):
            rows = known[first:last]
            if log.time_s[rows[-1]] - log.time_s[rows[0]] < STILL_FOR_S:
                continue
            outlet = log.columns["coil_outlet"][rows[0] : rows[-1] + 1]
            if moving[rows].all() and np.nanmax(outlet) - np.nanmin(outlet) > MOVES_K:
                refuse(log, float(log.time_s[rows[0]]), name,
                       show(float(values[first]), "c", loop.units),
                       "this thermometer stands still for half an hour while the coil's outlet "
                       "moves", "a thermometer that lives; leave its column out")  # fmt: skip


def _heat_without_flow(log: Log, loop: Loop) -> None:
    """The tank warms while the meter stands."""
    still = ~(log.columns["flow"] >= loop.meter.lowest_lpm)
    tank = log.columns["tank"]
    known = np.flatnonzero(np.isfinite(log.columns["flow"]) & np.isfinite(tank))
    parts = np.split(known, np.flatnonzero(np.diff(still[known].astype(int))) + 1)
    for part in parts:
        if len(part) and still[part[0]] and tank[part[-1]] - tank[part[0]] > WARMS_K:
            refuse(log, float(log.time_s[part[0]]), "flow",
                   show(float(log.columns["flow"][part[0]]), "lpm", loop.units),
                   "the tank warms while the meter shows no flow",
                   "a meter that turns; count its pulses against water that you weigh")  # fmt: skip


def _flow_without_rise(log: Log, loop: Loop) -> None:
    """Wood in, or a tank that warms, and no rise over the coil although water moves."""
    flowing = log.columns["flow"] >= loop.meter.lowest_lpm
    rise = log.columns["coil_outlet"] - log.columns["tank"]
    known = flowing & np.isfinite(rise)
    if known.sum() < 60:
        return
    cold_k = float(np.median(rise[known][:60]))
    most_k = float(np.percentile(rise[known], 98))
    tank = log.columns["tank"][known]
    warmed_k = float(np.max(tank) - tank[0])
    wood = log.has("wood") and float(np.nansum(log.columns["wood"])) > 0.0
    hot = wood or warmed_k > WARMS_K
    if hot and max(most_k - cold_k, most_k) < RISE_K:
        row = int(np.flatnonzero(known)[np.argmax(tank > tank[0] + 0.5 * warmed_k)])
        refuse(log, float(log.time_s[row]), "coil_outlet",
               show(float(log.columns["coil_outlet"][row]), "c", loop.units),
               "water moves over a fire and grows no warmer in the coil: flow without rise",
               "an outlet thermometer on the pipe behind the coil, and a meter that shows this "
               "pipe's water")  # fmt: skip


class Suspect(NamedTuple):
    """What is wrong after the fit, with how badly."""

    channel: str
    at_s: float
    words: str


def suspects(plant: Plant, found: Fit) -> list[Suspect]:
    """What doesn't agree with the plant, the worst first."""
    told = plant.told
    stray = [
        ((found.values[k] - number.guess) / np.hypot(number.spread, found.sd[k]), number)
        for k, number in enumerate(told)
        if number.key.endswith((".offset", ".lag", ".fill"))
    ]
    worst = sorted(stray, key=lambda each: -abs(each[0]))
    begins_s = plant.stretches[0].start_s
    listed = [
        Suspect(number.key, begins_s, f"the {number.words} comes out as "
                f"{show(float(found.values[told.index(number)]), number.unit, 'si')}, where "
                f"{show(number.guess, number.unit, 'si')} give or take "
                f"{show(number.spread, number.unit, 'si')} was believed")
        for off, number in worst
        if (abs(off) > FAR and (plant.tells_times or number.key.endswith(".offset")))
        or _at_bound(number, found.values[told.index(number)])
    ]  # fmt: skip
    litres = plant.value(found.values, "tank.water") / plant.loop.tank.water_l
    if not WATER_LOW < litres < WATER_HIGH:
        file_l, fitted_l = (show(x * plant.loop.tank.water_l, "l", plant.loop.units)
                            for x in (1.0, litres))  # fmt: skip
        listed.insert(0, Suspect(
            "flow", begins_s, f"by flow and temperatures the tank would hold {fitted_l}, the file "
            f"says {file_l}: the unit of flow, of time or of temperature, or the meter's pulses, "
            "are mistaken",
        ))  # fmt: skip
    block = _worst_block(plant, found)
    if block is not None:
        listed.append(block)
    return listed


def _at_bound(number: Number, value: float) -> bool:
    """A delay that would have to be shorter than any: what comes later was seen before."""
    return number.key.endswith(".fill") and value < number.least + 0.02 * number.spread


def _worst_block(plant: Plant, found: Fit) -> Suspect | None:
    """The five minutes that fit worst, where that is worse than a good log's."""
    worst_k, worst = BLOCK_K, None
    for name, residuals in zip(plant.seen, found.residuals, strict=True):
        blocks = (plant.times_s(name) / BLOCK_S).astype(int)
        for block in np.unique(blocks):
            mean_k = float(np.mean(residuals[blocks == block]))
            if abs(mean_k) > worst_k:
                worst_k = abs(mean_k)
                worst = Suspect(name, float(block * BLOCK_S), f"for five minutes this thermometer "
                                f"lies {mean_k:+.1f} K off what heat balance and the others "
                                "allow")  # fmt: skip
    return worst


def misfit(found: Fit) -> float:
    """How much the log leaves over: about one a thermometer where all is well."""
    return sum(float(np.mean(each**2)) / NOISE_K**2 for each in found.residuals if len(each))


def badness(plant: Plant, found: Fit) -> float:
    """How badly a log fits, in a scale that two readings of the same log share."""
    believed = (found.values - plant.start) / plant.spread
    return misfit(found) + float(believed[: len(plant.told)] @ believed[: len(plant.told)])


def swapped(
    log: Log, plant: Plant, found: Fit, listed: list[Suspect],
    again: Callable[[Log], tuple[Plant, Fit] | None],
) -> tuple[str, str] | None:  # fmt: skip
    """The two thermometers whose exchange makes the log fit, where there is such a pair.

    A log that fits but for one offset has no swap in it.
    """
    if listed[0].channel.endswith(".offset") and misfit(found) < FITS:
        return None
    there = [name for name in (*HOT_WATER, "room") if log.has(name)]
    best, pair = BETTER * badness(plant, found), None
    for one, other in combinations(there, 2):
        columns = {**log.columns, one: log.columns[other], other: log.columns[one]}
        tried = again(Log(log.file, log.time_s, columns, log.lines, log.starts))
        if tried is not None and badness(*tried) < best:
            best, pair = badness(*tried), (one, other)
    return pair


def refuse_suspects(log: Log, listed: list[Suspect], pair: tuple[str, str] | None) -> None:
    """Refuse a log that doesn't agree with itself. Raises InputRefused."""
    if pair is not None:
        one, other = (CHANNELS[name].words for name in pair)
        refuse(log, listed[0].at_s, f"{pair[0]}, {pair[1]}", "",
               f"the thermometers of {one} and {other} seem to be swapped",
               "the two columns exchanged, in the heading or with --columns")  # fmt: skip
    first = listed[0]
    refuse(log, first.at_s, first.channel, "", first.words,
           "a log whose thermometers agree when cold water circulates: put them right first")


