"""Seeded ticks for two logics that must agree: plausible ones at their limits, and wild ones."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from coilward.controller.constants import Constants
from coilward.controller.decide import decide
from coilward.controller.interlocks import EVERY_ROW
from coilward.controller.phases import PHASES
from coilward.controller.plausibility import EVERY_SUSPICION
from coilward.controller.types import Readings, Requests
from coilward.hil.tick import FIELDS, FLOATS, WHOLES, flat, requests_of, unflat
from tests.controller.rig import healthy

STRANGE = (
    np.nan, np.inf, -np.inf, 0.0, -0.0, 5e-324, -5e-324, 2.2e-308, 1e300, -1e300, 1.8e308, 1e-300,
)
LIMITS = (
    0.25, 0.5, 1.0, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 8.0, 10.0, 12.0, 30.0, 40.0, 45.0, 50.0, 55.0,
    60.0, 65.0, 80.0, 85.0, 100.0, 120.0, 126.0, 180.0, 240.0, 300.0, 600.0, 720.0, 1800.0, 2700.0,
    3600.0, 14400.0, 86400.0, 1e9, -1.0,
)
"""Times and temperatures that the logic compares with: a tick on the very limit tells most."""
KINDS = dict(FIELDS)
SHARES = {"plausible": 0.6, "strange": 0.2, "damaged": 0.2}
"""Of ticks: all sound; sound but for a few values; memory that can't be."""


class Ticks(NamedTuple):
    """A row a number, a column a tick."""

    came: np.ndarray
    asked: np.ndarray
    floats: np.ndarray
    wholes: np.ndarray
    """The state before."""


def ticks_of(seed: int, count: int, constants: Constants) -> Ticks:
    """As many ticks as asked for, always the same ones for a seed."""
    draw = np.random.default_rng(seed)
    kind = draw.choice(3, count, p=list(SHARES.values()))
    limits = np.array([*LIMITS, *flat_limits(constants)])
    usual = list(healthy(constants))
    came = np.array([_reading(draw, count, value, limits) for value in usual])
    came[0] = np.where(draw.random(count) < 0.2, draw.choice(limits, count), came[0])
    floats = np.array([_float(draw, count, name, limits) for name in FLOATS])
    wholes = np.array([_whole(draw, count, name) for name in WHOLES], dtype=np.int64)
    counters = [row for row, name in enumerate(WHOLES) if name.startswith("counters_")]
    wholes[counters] &= np.where(draw.random(count) < 0.9, wholes[WHOLES.index("seen")], -1)
    _calm(draw, came, floats, draw.random(count) < 0.15)
    _spoil(draw, came, 0.05, kind == 1)
    _spoil(draw, came, 0.3, kind == 2)
    loose = np.array([not name.endswith("_s") for name in FLOATS])
    _spoil(draw, floats, 0.03 * loose[:, None], kind == 1)
    _spoil(draw, floats, 0.02, (kind == 2) & (draw.random(count) < 0.7))
    _damage(draw, wholes, (kind == 2) & (draw.random(count) < 0.7))
    continuing = draw.random(count) < 0.7
    ages_time = FLOATS.index("ages_time_s")
    floats[ages_time] = np.where(continuing, came[0] - constants.tick_s, floats[ages_time])
    buttons = len(Requests._fields)
    one = 1 << draw.integers(0, buttons, count)
    every = draw.integers(0, 1 << buttons, count)
    asked = draw_from(draw, count, ((0.5, 0), (0.3, one), (0.2, every))).astype(np.uint64)
    return Ticks(came, asked, floats, wholes)


def _calm(draw, came, floats, columns):
    """Ticks in which every thermometer shows nearly the same, and has done so for long."""
    water = draw.uniform(0.0, 90.0, columns.sum())
    for table, names in ((came, Readings._fields), (floats, FLOATS)):
        for row, name in enumerate(names):
            if name.endswith("_c"):
                table[row, columns] = water + draw.uniform(-0.6, 0.6, len(water))
    apart = np.where(draw.random(len(water)) < 0.5, draw.uniform(-20.0, 5.0, len(water)), 0.0)
    came[Readings._fields.index("radiator_inlet_c"), columns] += apart
    floats[FLOATS.index("doubt_slow_inlet_c"), columns] += apart
    floats[FLOATS.index("watch_slow_lpm"), columns] = came[Readings._fields.index("flow_lpm"),
                                                           columns]
    floats[FLOATS.index("watch_second_s"), columns] = 0.75


def flat_limits(constants: Constants) -> list[float]:
    """Every float among the constants of a loop."""
    found = []
    for part in constants:
        for value in part if isinstance(part, tuple) else (part,):
            for one in value if isinstance(value, tuple) else (value,):
                if isinstance(one, float):
                    found.append(one)
    return found


def _reading(draw, count, usual, limits):
    near = usual * (1.0 + 0.02 * draw.standard_normal(count))
    far = draw.uniform(-40.0, 160.0, count)
    at = draw.choice(limits, count)
    return draw_from(draw, count, ((0.85, near), (0.06, at), (0.06, far), (0.03, np.nan)))


def _float(draw, count, name, limits):
    at = draw.choice(limits, count)
    if name == "ages_still_s":
        some = draw.uniform(0.0, 60.0, count)
        return draw_from(draw, count, ((0.8, 0.0), (0.1, some), (0.1, at)))
    if name == "ages_proof_s":
        return draw_from(draw, count, ((0.2, 0.0), (0.1, 4.75), (0.7, 5.0)))
    if name.startswith(("ages_dry", "ages_reboot", "ages_dump", "ages_flow")):
        return draw_from(draw, count, ((0.8, 1e9), (0.2, draw.uniform(0.0, 1e5, count))))
    if name.endswith("_s"):
        return draw_from(draw, count, (
            (0.35, 0.0), (0.3, draw.uniform(0.0, 400.0, count)), (0.2, at), (0.15, 1e9)))
    if "valve" in name or "fans" in name or "stroke" in name:
        return draw_from(draw, count, ((0.7, draw.random(count)), (0.2, 1.0), (0.1, 0.46)))
    if name.endswith("_w"):
        return draw.uniform(0.0, 20000.0, count)
    return draw_from(draw, count, (
        (0.5, draw.uniform(0.0, 90.0, count)), (0.3, at), (0.1, np.nan), (0.1, 0.0)))


def _whole(draw, count, name):
    most = {
        "mode_phase": len(PHASES), "mode_came_from": len(PHASES), "mode_fire": 3, "mode_coil": 4,
        "doubt_suspects": EVERY_SUSPICION + 1, "control_passed": 4096,
    }
    if KINDS[name] is bool:
        return draw.random(count) < (0.05 if name in ("mode_dry", "mode_meter_dead") else 0.5)
    if name in most:
        found = draw.integers(0, most[name], count)
        quiet = name == "doubt_suspects"
        return np.where(draw.random(count) < 0.5, 0, found) if quiet else found
    if name == "mode_first_out":
        return draw.integers(-1, EVERY_ROW.bit_length(), count)
    dense = draw.integers(0, EVERY_ROW, count, endpoint=True)
    sparse = dense & draw.integers(0, EVERY_ROW, count) & draw.integers(0, EVERY_ROW, count)
    return draw_from(draw, count, ((0.5, 0), (0.45, sparse), (0.05, dense)))


def draw_from(draw, count, parts):
    """One of several columns for each tick, by their shares."""
    which = draw.choice(len(parts), count, p=[share for share, _ in parts])
    return np.choose(which, [np.broadcast_to(value, count) for _, value in parts])


def _spoil(draw, table, share, columns):
    hit = (draw.random(table.shape) < share) & columns
    table[hit] = draw.choice(STRANGE, int(hit.sum()))


def _damage(draw, wholes, columns):
    truths = np.array([KINDS[name] is bool for name in WHOLES])
    hit = (draw.random(wholes.shape) < 0.1) & columns & ~truths[:, None]
    wholes[hit] = draw.integers(-(2**62), 2**62, int(hit.sum()))


def decided_by_python(
    ticks: Ticks, constants: Constants, at: range
) -> tuple[np.ndarray, np.ndarray]:
    """What the controller itself makes of some of them, in the order of a digest."""
    decided = []
    for place in at:
        state = unflat(ticks.floats[:, place].tolist(), ticks.wholes[:, place].tolist())
        readings = Readings(*ticks.came[:, place].tolist())
        asked = requests_of(int(ticks.asked[place]))
        decided.append(decide(readings, asked, state, constants))
    return columns_of(decided)


def columns_of(decided) -> tuple[np.ndarray, ...]:
    """States with commands as a column each, in the order of a digest."""
    floats, wholes = [], []
    for state, said in decided:
        some, others = flat(state)
        floats.append([*some, said.valve, said.fans])
        wholes.append(
            [*others, said.pump, said.damper_open, said.dump_open, said.horn, said.may_light]
        )
    return np.array(floats).T, np.array(wholes, dtype=np.int64).T


NAMES = (
    *FLOATS, "valve", "fans", *WHOLES, "pump", "damper_open", "dump_open", "horn", "may_light",
)


def bits(floats: np.ndarray, wholes: np.ndarray) -> np.ndarray:
    """Everything as 64 bits; every NaN is one and the same."""
    floats = np.where(np.isnan(floats), np.nan, floats)
    return np.concatenate([floats.view(np.int64), wholes])


def difference(ours, theirs) -> str:
    """The first number in which two outcomes differ, with both values; nothing for none."""
    differs = bits(*ours) != bits(*theirs)
    if not differs.any():
        return ""
    tick = int(np.argmax(differs.any(axis=0)))
    row = int(np.argmax(differs[:, tick]))
    values = []
    for floats, wholes in (ours, theirs):
        at = row - len(floats)
        values.append(floats[row, tick].hex() if at < 0 else int(wholes[at, tick]))
    many = int(differs.any(axis=0).sum())
    return f"tick {tick}: {NAMES[row]} is {values[0]} and {values[1]}; {many} ticks differ"
