"""How the heat falls after the damper has shut: the fire's time constant.

The heat into the coil is Q (leak + (1 - leak) exp(-t / tau)), as in the simulator; coil, cold leg
and the outlet's thermometer are the simulator's own. What the log says after the fire's lag is
held against it.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from coilward.learning.fitting import Fit, fit
from coilward.learning.following import OFF_SHARE, Plant, stepped
from coilward.learning.heat import Heat
from coilward.learning.log import Numbers
from coilward.learning.plant.upstream import upstream
from coilward.learning.stretches import ROW_S
from coilward.simulator import slots as at
from coilward.simulator.sensors import lag_weights

BEFORE_S: Final = 300.0
"""How long the fire is taken to have burned evenly before the damper shut."""
LEAST_S: Final = 600.0
MOST_TIMES: Final = 3.0
"""Longer than so many time constants of the file nothing is left to see."""
LEAK_SD: Final = 0.02
LEAST_W: Final = 300.0
MISFIT_K: Final = 0.5
UNSURE_COUNT: Final = 4
"""Not fitted here: when the damper shut, the cold leg, the outlet's lag, when the tank was read."""


class Decay(NamedTuple):
    """What the log says of one shutting of the damper."""

    shut_s: float
    until_s: float
    minutes: float
    sd: float
    heat_w: float
    """When the damper shut."""
    fit: Fit
    wide: float


def decay_of(
    plant: Plant, values: Numbers, covariance: Numbers, heat: Heat
) -> tuple[Decay | None, str]:
    """The longest usable fall of the heat, or why there is none."""
    if not plant.log.has("damper"):
        return None, "no column damper is in the log"
    windows = [
        (shut, end, number)
        for number in range(len(plant.stretches))
        for shut, end in _windows(plant, number)
    ]
    if not windows:
        return None, "the damper was never seen to shut and stay shut for ten minutes, water moving"
    shut, end, number = max(windows, key=lambda each: each[1] - each[0])
    stretch = plant.stretches[number]
    first = round(stretch.start_s / ROW_S) + shut
    before_w = heat.water_w[max(first - 120, 0) : first]
    heat_w = float(np.nanmean(before_w)) if np.isfinite(before_w).any() else np.nan
    if not heat_w > LEAST_W:
        return None, "when the damper shut there was next to no heat to fall"
    found = _fitted(plant, values, covariance, number, shut, end, heat_w)
    minutes, sd = float(found.values[1]), float(found.sd[1])
    if found.spread[0] > MISFIT_K:
        return None, (
            f"after the damper shut the heat did not fall with one time constant (off by "
            f"{found.spread[0]:.1f} K): shut it on a steady fire, add no wood"
        )
    return Decay(
        stretch.start_s + shut * ROW_S, stretch.start_s + end * ROW_S, minutes, sd,
        1e3 * float(found.values[0]), found, found.wide,
    ), ""  # fmt: skip


def _windows(plant: Plant, number: int) -> list[tuple[int, int]]:
    """Rows from each shutting of the damper to the end of what can be used."""
    stretch, log = plant.stretches[number], plant.log
    opened = stretch.damper > 0.5
    shuts = np.flatnonzero(opened[:-1] & ~opened[1:]) + 1
    stops = opened | (stretch.flow_lpm < plant.loop.meter.lowest_lpm)
    if log.has("wood"):
        loads_s = log.time_s[np.nan_to_num(log.columns["wood"]) > 0.0]
        rows = ((loads_s - stretch.start_s) / ROW_S).astype(int)
        stops[rows[(rows >= 0) & (rows < stretch.rows)]] = True
    longest = int(MOST_TIMES * 60.0 * plant.loop.fire.decay_min / ROW_S)
    found = []
    for shut in shuts:
        later = np.flatnonzero(stops[shut:])
        end = min(shut + (int(later[0]) if len(later) else stretch.rows - shut), shut + longest)
        if (end - shut) * ROW_S >= LEAST_S and shut * ROW_S >= 60.0:
            found.append((int(shut), int(end)))
    return found


def _fitted(
    plant: Plant, values: Numbers, covariance: Numbers, number: int, shut: int, end: int,
    heat_w: float,
) -> Fit:  # fmt: skip
    stretch, loop, log = plant.stretches[number], plant.loop, plant.log
    begin = max(shut - int(BEFORE_S / ROW_S), 0)
    part = slice(begin, end)
    tank_c = plant.tank_c(values, stretch)[part]
    flow, room = stretch.flow_lpm[part], plant.room_c(values, stretch)[part]
    outdoor = stretch.outdoor_c[part]
    count = end - begin
    since_s = ROW_S * (np.arange(count) - (shut - begin))
    known = np.isfinite(log.columns["coil_outlet"])
    times = (log.time_s[known] - stretch.start_s) / ROW_S - begin
    from_row = shut - begin + loop.fire.lag_s / ROW_S
    counts = (times >= from_row) & (times <= count - 1)
    places, readings = times[counts], log.columns["coil_outlet"][known][counts]
    lag_s = plant.lag_s(values, "coil_outlet")
    lag_sd_s, tank_sd_s = (plant.sd(covariance, f"sensors.{name}.lag")
                           for name in ("coil_outlet_a", "tank"))  # fmt: skip
    tank_k_s = stretch.tank_k_s[part]
    offset_k = plant.offset_k(values, "coil_outlet")
    p = plant.parameters(values)
    rest = np.array(plant.rest)
    rest[at.COLD_LEAST] = 10.0
    rest[at.COLD_ : at.COLD_ + at.LINE_CELLS] = tank_c[0]
    start_c = plant.outlet_c(values, stretch)[begin]
    for k in range(at.COIL_CELLS):
        water_c = tank_c[0] + (start_c - tank_c[0]) * (k + 1) / at.COIL_CELLS
        rest[at.WATER_ + k] = rest[at.WALL_ + k] = water_c
    rest[at.STUB] = rest[at.LAGGED_] = rest[at.TRUE_] = start_c

    def residuals(numbers: Numbers, unsure: Numbers | None = None) -> list[Numbers]:
        kw, minutes, leak, more_k = numbers
        off = np.zeros(UNSURE_COUNT) if unsure is None else unsure
        late_s, cold = plant.late_s * off[0], 1.0 + OFF_SHARE * off[1]
        lag = np.array(lag_weights(ROW_S, max(lag_s + lag_sd_s * off[2], 0.0)))
        drawn_c = tank_c + np.hypot(tank_sd_s, plant.late_s) * off[3] * tank_k_s
        after_s = np.maximum(since_s - late_s, 0.0)
        heat = 1e3 * kw * (leak + (1.0 - leak) * np.exp(-after_s / (60.0 * minutes)))
        mine = p.copy()
        mine[at.COLD_W_K] *= cold
        y, seen = rest.copy(), np.zeros(count)
        stepped(upstream)(
            y, mine, lag, ROW_S, count, drawn_c, flow, heat, room, outdoor, seen.copy(),
            seen.copy(), seen,
        )
        return [readings - offset_k - more_k - np.interp(places, np.arange(count), seen)]

    fire = loop.fire
    relative_sd = plant.relative_sd(covariance, "coil_outlet", "tank")
    start = np.array([heat_w / 1e3, fire.decay_min, fire.damper_leak, 0.0])
    spread = np.array([heat_w / 1e3, 0.6 * fire.decay_min, LEAK_SD, max(relative_sd, 1e-3)])
    return fit(
        residuals, start, spread, prior_sd=spread, least=np.array([0.01, 1.0, 0.0, -10.0]),
        floor=0.02, unsure=residuals, unsure_count=UNSURE_COUNT,
    )
