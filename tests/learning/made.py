"""Logs made by the full simulator with numbers that are known: plant, thermometers and meter."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from functools import cache
from itertools import pairwise

import numpy as np

from coilward.controller.types import Commands
from coilward.learning.log import log_of_rows
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.model import Loop
from coilward.loop.sums.wood import DRY_WOOD_J_KG, EVAPORATION_J_KG
from coilward.simulator import slots as at
from coilward.simulator.closed import advance, capped_lpm, catch_up, disturb, obey
from coilward.simulator.engine import can_compile, compiled
from coilward.simulator.night import Moment
from coilward.simulator.parameters import noise_table, parameters, resting
from coilward.simulator.sensors import read
from coilward.simulator.wood import light, reload

TODAY = date(2026, 11, 25)
COLUMNS = ("time", "coil_outlet", "radiator_inlet", "radiator_outlet", "tank", "room", "flow",
           "fans", "damper", "dump", "heat_w")  # fmt: skip


def record(y, p, noise, rows, commands, tick, until):
    """The open loop under the same commands, one row a second."""
    a_second = int(p[at.TICKS_PER_S])
    wide = 11
    obey(y, p, noise, tick, commands)
    while tick < until:
        if tick % a_second == 0:
            time_s = tick * p[at.TICK_S]
            readings = read(y, p, time_s)
            o = tick // a_second * wide
            rows[o] = time_s
            rows[o + 1] = readings.coil_outlet_a_c
            rows[o + 2] = readings.radiator_inlet_c
            rows[o + 3] = readings.radiator_outlet_c
            rows[o + 4] = readings.tank_c
            rows[o + 5] = readings.room_c
            rows[o + 6] = capped_lpm(readings, p[at.PULSES_PER_L])
            rows[o + 7] = y[at.TOLD_FANS]
            rows[o + 8] = y[at.TOLD_DAMPER]
            rows[o + 9] = y[at.TOLD_DUMP]
            rows[o + 10] = y[at.WATER_W]
        advance(y, p, noise, tick)
        tick += 1
    catch_up(y, p, noise, tick)


@cache
def recorder():
    """The same, compiled where that can be done."""
    return compiled(record) if can_compile() else record


@dataclass(frozen=True)
class Truth:
    """The numbers with which a log was made, by the fit's keys."""

    numbers: dict[str, float]
    loop: Loop
    """The loop as it truly is."""
    file: Loop
    """The loop as its file says."""
    heat_w: np.ndarray = field(repr=False)
    """True heat into the water at every second."""


# (minute, pump, valve, fans, damper, what happens to the fire)
WOOD = (
    (0, True, 1.0, 0.0, False, None),
    (8, True, 1.0, 1.0, True, ("light", "0.8 charge")),
    (20, True, 0.6, 1.0, True, None),
    (23, True, 0.6, 1.0, True, ("reload", "0.33 charge")),
    (38, True, 0.6, 1.0, True, ("reload", "0.33 charge")),
    (53, True, 0.6, 1.0, True, ("reload", "0.33 charge")),
    (68, True, 0.5, 1.0, True, ("reload", "0.33 charge")),
    (75, True, 0.5, 0.0, True, None),
    (87, True, 0.5, 1.0, True, ("reload", "0.25 charge")),
    (100, True, 0.8, 1.0, True, None),
    (110, True, 0.8, 1.0, False, None),
    (180, True, 1.0, 0.0, False, None),
    (240, True, 1.0, 0.0, False, None),
)
HELD = (
    (0, True, 1.0, 0.0, False, None),
    (10, True, 1.0, 1.0, True, ("hold", 0.8)),
    (25, True, 0.6, 1.0, True, ("hold", 1.0)),
    (45, True, 0.6, 0.0, True, None),
    (57, True, 0.6, 1.0, True, None),
    (70, True, 0.8, 1.0, True, ("hold", 0.9)),
    (85, True, 0.8, 1.0, False, None),
    (150, True, 0.8, 1.0, False, None),
)


def drawn_loop(rng, name="greenhouse"):
    """A loop that is not what its file says: numbers drawn, thermometers with their errors."""
    file = read_loop(name)
    change = {}
    sensors = {}
    for each in ("coil_outlet_a", "tank", "radiator_inlet", "radiator_outlet", "room"):
        sensor = getattr(file.sensors, each)
        quantum = float(rng.choice([1 / 16, 0.1 * 5 / 9]))
        sensors[each] = sensor.model_copy(update={
            "offset_k": float(rng.normal(0.0, 0.5 * sensor.error_k)),
            "lag_s": float(max(rng.normal(sensor.lag_s, max(0.3 * sensor.lag_s, 1.0)), 0.3)),
            "quantum_k": quantum, "noise_k": float(rng.uniform(0.03, 0.1)),
        })
    if file.radiator is not None:
        change["radiator"] = file.radiator.model_copy(update={
            "fans_on_w_k": file.radiator.fans_on_w_k * rng.uniform(0.6, 1.4),
            "fans_off_w_k": file.radiator.fans_off_w_k * rng.uniform(0.5, 1.8),
        })
    change["tank"] = file.tank.model_copy(update={
        "water_l": file.tank.water_l * rng.uniform(0.75, 1.25),
        "loss_w_k": file.tank.loss_w_k * rng.uniform(0.3, 2.0),
    })
    change["fire"] = file.fire.model_copy(update={
        "decay_min": file.fire.decay_min * rng.uniform(0.6, 1.4),
        "caught": file.fire.caught * rng.uniform(0.7, 1.3),
    })
    legs = {}
    for leg in ("cold", "back", "hot"):
        line = getattr(file.lines, leg)
        longer = rng.uniform(0.8, 1.3) if leg == "hot" else np.clip(rng.normal(1, 0.3), 0.3, 2)
        loses = np.clip(rng.normal(1, 0.3), 0.3, 2)
        legs[leg] = line.model_copy(update={
            "length_m": line.length_m * float(longer),
            "insulation_w_mk": line.insulation_w_mk * float(loses / longer),
        })
    change["lines"] = file.lines.model_copy(update=legs)
    change["sensors"] = file.sensors.model_copy(update=sensors)
    return file, file.model_copy(update=change)


def quiet(loop):
    """The same loop with thermometers and a meter that show what is there."""
    exact = {"noise_k": 0.0, "quantum_k": 0.0}
    names = ("coil_outlet_a", "tank", "radiator_inlet", "radiator_outlet", "room")
    sensors = {each: getattr(loop.sensors, each).model_copy(update=exact) for each in names}
    return loop.model_copy(update={
        "sensors": loop.sensors.model_copy(update=sensors),
        "meter": loop.meter.model_copy(update={"noise": 0.0}),
    })


def made(seed, script=WOOD, name="greenhouse", every=5, gaps=True, clean=False, late=True):
    """A log and the truth behind it; a clean one has no noise, no steps and no late rows."""
    rng = np.random.default_rng([seed, 77])
    file, loop = drawn_loop(rng, name)
    if clean:
        loop = quiet(loop)
    p = np.array(parameters(loop, derive(loop, TODAY), loop.site.outdoor_c))
    y = np.array(resting(loop, p.tolist()))
    y[at.TANK_TOP] += rng.uniform(0.0, 2.0)
    p[at.METER_FACTOR] = 1.0 if clean else rng.normal(1.0, 0.005)
    noise = np.array(noise_table(seed))
    tick_s = loop.tick_s
    end_s = int(script[-1][0] * 60)
    rows = np.full((end_s + 1) * len(COLUMNS), np.nan)
    wood_kg = np.zeros(end_s + 1)
    moisture = 0.2
    # What is switched is switched between two rows, not on one.
    later = np.random.default_rng([seed, 78]).integers(0, round(every / tick_s), len(script))
    begins = np.array([round(step[0] * 60 / tick_s) for step in script])
    begins += 0 if clean else later
    begins[0], begins[-1] = 0, round(end_s / tick_s)
    for (step, _), (begin, until) in zip(pairwise(script), pairwise(begins), strict=True):
        minute, pump, valve, fans, damper, act = step
        disturb(y, p)
        if act is not None:
            do, what = act
            if do == "hold":
                y[at.HOLD_W] = what * p[at.NOMINAL_W]
            else:
                moment = Moment.model_validate({
                    "at": "0 s", "do": do, "mass": what, "moisture": moisture, "lively": 0.8,
                })
                before = y[at.FRESH_KG] + y[at.FLAMING_KG]
                (light if do == "light" else reload)(y, p, loop, moment)
                dry_kg = y[at.FRESH_KG] + y[at.FLAMING_KG] - before
                wood_kg[minute * 60] = dry_kg / (1.0 - moisture)
        commands = Commands(pump, valve, fans, damper, False, 0, True)
        recorder()(y, p, noise, rows, commands, int(begin), int(until))
    table = rows.reshape(-1, len(COLUMNS))[:-1]
    columns = {each: table[:, k].copy() for k, each in enumerate(COLUMNS)}
    keep = np.arange(0, len(table), every)
    late_s = 0.0 if clean or not late else np.hypot(every / np.sqrt(12.0), 1.0)
    log_columns = {each: columns[each][keep] for each in COLUMNS[1:10]}
    for each in COLUMNS[1:7]:
        # A board polls one thing after another: each row tells of another moment.
        moved = np.clip(keep - round(rng.normal(0.0, late_s)), 0, len(table) - 1)
        log_columns[each] = columns[each][moved]
    if script is WOOD:
        sums = np.add.reduceat(wood_kg[: len(table)], keep)
        log_columns["wood"] = sums
        log_columns["moisture"] = np.full(len(keep), moisture)
    if gaps:
        for _ in range(3):
            first = rng.integers(0, len(keep) - 60)
            length = int(rng.integers(2, 240 // every))
            which = rng.choice(["coil_outlet", "tank", "radiator_outlet", "flow", "all"])
            for each in COLUMNS[1:7]:
                if which in (each, "all"):
                    log_columns[each][first : first + length] = np.nan
        lost = rng.random(len(keep)) < 0.01
        for each in COLUMNS[1:7]:
            log_columns[each][lost] = np.nan
    log = log_of_rows(f"made-{seed}.csv", columns["time"][keep], log_columns)
    return log, Truth(_truth(loop, file, p, wood_kg, moisture, columns["heat_w"]), loop, file,
                      columns["heat_w"])  # fmt: skip


def _truth(loop, file, p, wood_kg, moisture, heat_w):
    file_p = parameters(file, derive(file, TODAY), file.site.outdoor_c)
    found = {
        "tank.water": loop.tank.water_l, "tank.loss": loop.tank.loss_w_k,
        "lines.hot.loss": p[at.HOT_W_K] * at.LINE_CELLS,
        "lines.hot.fill": p[at.HOT_J_K] / file_p[at.HOT_J_K],
        "fire.decay": loop.fire.decay_min,
    }
    if loop.radiator is not None:
        found |= {"radiator.fans_on": loop.radiator.fans_on_w_k,
                  "radiator.fans_off": loop.radiator.fans_off_w_k,
                  "radiator.fill": p[at.CORE_J_K] / file_p[at.CORE_J_K]}  # fmt: skip
    for each in ("coil_outlet_a", "tank", "radiator_inlet", "radiator_outlet", "room"):
        sensor = getattr(loop.sensors, each)
        found[f"sensors.{each}.offset"] = sensor.offset_k
        found[f"sensors.{each}.lag"] = sensor.lag_s
    if wood_kg.sum() > 0:
        net = DRY_WOOD_J_KG * (1 - moisture) - EVAPORATION_J_KG * moisture
        found["fire.caught"] = float(np.nansum(heat_w) / (wood_kg.sum() * net))
    return found
