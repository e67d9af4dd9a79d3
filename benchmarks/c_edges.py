"""Ticks at the edges: a tick that was decided before, with a number or two moved to a limit.

The limits are the named numbers and the literals of the C core and the numbers of the loop, each
kept for values of its own unit: the very number, half a percent to either side, a share of it, and
as much less as a timer gains in a tick. Most temperatures and flows are in sixteenths, so that
differences come out even.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

import numpy as np

from coilward.controller.constants import Constants
from coilward.controller.firmware import CORE
from coilward.controller.types import Readings, Requests
from coilward.hil.tick import FLOATS, WHOLES
from tests.firmware.wild import KINDS, Ticks

NAMED = re.compile(r"^#define (\w+) (-?\d+\.\d*)", re.MULTILINE)
COMPARED = re.compile(r"(\w+) (?:[<>]=?|==|\+|-) (\d+\.\d*)")
MEASURED = {"s", "c", "k", "lpm", "ppm", "a", "v", "w"}
SHARES = (0.1, 0.6, 0.7, 0.8, 0.9, 0.9416666666666668, 1.1, 1.15, 1.25, 1.35, 2.5)
SWITCHES = (0.0, 0.495, 0.4999, 0.5, 0.505, 1.0)
IMPOSSIBLE = (-1, -2, 2, 3, 4, 11, 12, 43, 44, 1023, 1024, 1 << 43, (1 << 44) - 1, 1 << 44,
              1 << 62, -(1 << 62))  # fmt: skip
"""Whole numbers at the ends of what a phase, a fire, a row and a mask can be, and beyond."""
FIELDS = (*Readings._fields, *FLOATS)


def unit_of(name: str) -> str:
    """The last word of a name."""
    return name.rpartition("_")[2].lower()


def pools(constants: Constants) -> dict[str, list[float]]:
    """The limits of each unit."""
    found: dict[str, list[float]] = defaultdict(list)
    for path in sorted(CORE.glob("*.[ch]")):
        for name, value in (*NAMED.findall(path.read_text()), *COMPARED.findall(path.read_text())):
            found[unit_of(name)].append(float(value))
    for part in constants:
        for name, value in getattr(part, "_asdict", dict)().items():
            if isinstance(value, float):
                found[unit_of(name)].append(value)
    found["c"] += found["k"]
    return found


def edges(seed: int, count: int, constants: Constants, base: Ticks) -> Ticks:
    """As many ticks as asked for, from those of the base; always the same for a seed."""
    draw = np.random.default_rng(seed)
    at = draw.choice(base.came.shape[1], count, p=_by_phase(base))
    came, floats, wholes = base.came[:, at], base.floats[:, at], base.wholes[:, at]
    one = 1 << draw.integers(0, len(Requests._fields), count)
    asked = base.asked[at] ^ np.where(draw.random(count) < 0.2, one, 0).astype(np.uint64)
    table = np.concatenate([came, floats])
    limits = pools(constants)
    coarse = np.flatnonzero(draw.random(count) < 0.7)
    for row, name in enumerate(FIELDS):
        if unit_of(name) in ("c", "lpm"):
            table[row, coarse] = np.round(16.0 * table[row, coarse]) / 16.0
    for share in (0.95, 0.6, 0.3):
        most = np.where(draw.random(count) < 0.5, len(Readings._fields), len(FIELDS))
        either = draw.integers(0, most)
        rows = np.where(draw.random(count) < share, either, -1)
        for row, name in enumerate(FIELDS):
            ticks = np.flatnonzero(rows == row)
            table[row, ticks] = moved(draw, name, table[:, ticks], limits, constants)
    came, floats = table[: len(came)], table[len(came) :]
    _whole_ones(draw, wholes, count)
    _about_to_count(draw, wholes, count, constants.thresholds)
    return Ticks(came, asked, floats, wholes)


def _by_phase(base: Ticks) -> Any:
    """Shares of ticks, so that each phase comes as often as any other."""
    phases = base.wholes[WHOLES.index("mode_phase")]
    _, which, many = np.unique(phases, return_inverse=True, return_counts=True)
    return 1.0 / (many[which] * len(many))


def moved(
    draw: Any, name: str, ticks: Any, limits: dict[str, list[float]], constants: Constants
) -> Any:
    """Values at edges for one field of some ticks."""
    count = ticks.shape[1]
    unit = unit_of(name)
    pool = limits.get(unit, []) if unit in MEASURED else []
    if not pool:
        return draw.choice(SWITCHES, count)
    value = draw.choice(pool, count) * (1.0 + draw.choice((0.0, 0.0, 0.005, -0.005), count))
    if unit in ("a", "v", "lpm"):
        value = value * np.where(draw.random(count) < 0.6, draw.choice(SHARES, count), 1.0)
    if unit == "s":
        return value - draw.choice((0.0, 0.0, constants.tick_s, 1.0), count)
    if unit in ("c", "lpm"):
        rows = [at for at, each in enumerate(FIELDS) if unit_of(each) == unit]
        beside = ticks[draw.choice(rows, count), np.arange(count)]
        with np.errstate(invalid="ignore"):
            more = beside + value * draw.choice((1.0, -1.0), count)
        if unit == "c":
            apart = draw.choice(limits["k"], count) * draw.choice((1.0, 1.0, 0.995, 1.005), count)
            more = np.where(draw.random(count) < 0.5, more, value - apart)
        if unit == "lpm":
            more = beside * draw.choice((1.0, 0.8, 0.9, 1.1, 1.15, 1.25), count)
        return np.where(draw.random(count) < 0.5, value, more)
    return value


def _about_to_count(draw: Any, wholes: Any, count: int, thresholds: Sequence[int]) -> None:
    """Counters of a cause that was seen, next to where they carry or reach, of a tenth of all."""
    seen = WHOLES.index("seen")
    planes = [row for row, name in enumerate(WHOLES) if name.startswith("counters_")]
    for tick in np.flatnonzero(draw.random(count) < 0.1):
        rows = [row for row in range(44) if int(wholes[seen, tick]) >> row & 1]
        for row in rows[:3] if draw.random() < 0.5 else rows[-3:]:
            due = sum((plane >> row & 1) << at for at, plane in enumerate(thresholds))
            value = int(draw.choice((due - 1, due - 2, due, (1 << int(draw.integers(0, 13))) - 1)))
            for at, plane in enumerate(planes):
                bit = 1 << row
                was = int(wholes[plane, tick])
                wholes[plane, tick] = was | bit if max(value, 0) >> at & 1 else was & ~bit


def _whole_ones(draw: Any, wholes: Any, count: int) -> None:
    """Phases, switches and bits of masks, of a third of the ticks."""
    for tick in np.flatnonzero(draw.random(count) < 0.35):
        row = int(draw.integers(len(WHOLES)))
        name, value = WHOLES[row], int(wholes[row, tick])
        if name in ("mode_phase", "mode_came_from"):
            wholes[row, tick] = draw.integers(0, 12)
        elif KINDS[name] is not bool and draw.random() < 0.3:
            wholes[row, tick] = draw.choice(IMPOSSIBLE)
        elif value in (0, 1) and not name.startswith(("counters", "raised", "seen")):
            wholes[row, tick] = 1 - value
        elif name.startswith(("counters", "raised", "seen", "mode_latched", "watch_held")):
            wholes[row, tick] = value ^ (1 << int(draw.integers(0, 44)))
