"""The heat into the water over time, where it goes, and its share of the wood."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from coilward.learning.following import METER_SHARE, OFF_SHARE, Plant, stepped
from coilward.learning.log import Numbers
from coilward.learning.plant.upstream import upstream
from coilward.learning.stretches import ROW_S
from coilward.loop.sums.wood import net_j_kg
from coilward.simulator import slots as at

OUT_SHARE: Final = 0.06
"""A fire is out when it gives less than this of the most that it gave."""
MOST_UNSEEN: Final = 0.1
"""Share of the time that may be missing when heat is summed up."""
UNSEEN_SD: Final = 0.2
"""Of the heat reckoned into a gap that is too long to try (common practice, no source)."""
MINUTE_ROWS: Final = int(60 / ROW_S)


class Heat(NamedTuple):
    """Heat flows at even times, W, NaN in the gaps of the log."""

    time_s: Numbers
    water_w: Numbers
    """What the coil gave to the water."""
    radiator_w: Numbers
    """What radiator and dump took, from the water at both ends; NaN without a thermometer there."""
    hot_leg_w: Numbers
    tank_w: Numbers
    """What the tank took up: water that came less water that went."""
    cold_leg_w: Numbers


def inlet_c(plant: Plant, values: Numbers, number: int, cold_share: float = 1.0) -> Numbers:
    """Water at the coil's inlet over a stretch, from the tank through the cold leg."""
    stretch = plant.stretches[number]
    p = plant.parameters(values)
    p[at.COLD_W_K] *= cold_share
    tank_c = plant.tank_c(values, stretch)
    y = np.array(plant.rest)
    y[at.COLD_ : at.COLD_ + at.LINE_CELLS] = tank_c[0]
    y[at.COLD_LEAST] = 10.0
    nothing, found = np.zeros(stretch.rows), np.zeros(stretch.rows)
    stepped(upstream)(
        y, p, np.array([0.0, 0.0, 1.0]), ROW_S, stretch.rows, tank_c, stretch.flow_lpm, nothing,
        plant.room_c(values, stretch), stretch.outdoor_c, found, nothing.copy(), nothing.copy(),
    )
    return found


def heat_of(plant: Plant, values: Numbers, cold_share: float = 1.0) -> Heat:
    """The heat balance of the whole log, one row a second."""
    count = int(plant.log.time_s[-1] / ROW_S) + 1
    table = np.full((5, count), np.nan)
    for number, stretch in enumerate(plant.stretches):
        first = round(stretch.start_s / ROW_S)
        rows = slice(first, min(first + stretch.rows, count))
        kept = slice(0, rows.stop - first)
        stream_w_k = plant.w_per_lpm_k * stretch.flow_lpm
        outlet_c, in_c = plant.outlet_c(values, stretch), inlet_c(plant, values, number, cold_share)
        shown = plant.shown(values, number)
        tank_c = plant.tank_c(values, stretch)
        before_c = shown["radiator_inlet"] - plant.offset_k(values, "radiator_inlet")
        after_c = shown["radiator_outlet"] - plant.offset_k(values, "radiator_outlet")
        for k, flow in enumerate((
            outlet_c - in_c, before_c - after_c, outlet_c - before_c, after_c - tank_c,
            tank_c - in_c,
        )):  # fmt: skip
            table[k, rows] = (stream_w_k * flow)[kept]
    return Heat(ROW_S * np.arange(count, dtype=np.float64), *table)


class Caught(NamedTuple):
    """The share of the wood's net heat that reached the water."""

    share: float
    sd: float
    heat_j: float
    wood_kg: float


def caught_of(
    plant: Plant, values: Numbers, covariance: Numbers, heat: Heat
) -> tuple[Caught | None, str]:
    """Heat into the water over heat in the wood, or why it is not told."""
    log = plant.log
    if not log.has("wood") or np.nansum(log.columns["wood"]) <= 0.0:
        return None, "no wood is in the log: log each load with its mass"
    wood_kg = log.columns["wood"]
    loads = np.flatnonzero(np.nan_to_num(wood_kg) > 0.0)
    if not log.has("moisture") or np.isnan(log.columns["moisture"][loads]).any():
        return None, "how wet the wood was is not in the log: add a column moisture"
    most_w = _most_w(heat)
    ended_w = _mean_w(heat.water_w[-10 * MINUTE_ROWS :])
    began = heat.water_w[: max(int(log.time_s[loads[0]] / ROW_S), MINUTE_ROWS)]
    if not ended_w < OUT_SHARE * most_w:
        return None, "the log ends before the fire is out: log until the coil gives no more heat"
    if not _mean_w(began) < OUT_SHARE * most_w:
        return None, "the fire was in before the first load of the log: start with a cold one"
    unseen = np.isnan(heat.water_w)
    if unseen.mean() > MOST_UNSEEN:
        return None, f"{100 * unseen.mean():.0f} % of the time is missing in the log"
    filled_w = np.interp(heat.time_s, heat.time_s[~unseen], heat.water_w[~unseen])
    heat_j = float(filled_w.sum()) * ROW_S
    wet = log.columns["moisture"]
    wood_j = sum(float(wood_kg[load]) * net_j_kg(float(wet[load])) for load in loads)
    carried_j_k = sum(
        plant.w_per_lpm_k * float(stretch.flow_lpm.sum()) * ROW_S for stretch in plant.stretches
    )
    relative_sd = plant.relative_sd(covariance, "coil_outlet", "tank")
    other = heat_of(plant, values, 1.0 + OFF_SHARE).water_w
    cold_j = float(np.nansum(other - heat.water_w)) * ROW_S
    gaps_j = unseen_sd_j(heat.water_w, filled_w)
    meter_j = METER_SHARE * heat_j
    sd_j = float(np.sqrt((carried_j_k * relative_sd) ** 2 + cold_j**2 + gaps_j**2 + meter_j**2))
    return Caught(heat_j / wood_j, sd_j / wood_j, heat_j, float(np.nansum(wood_kg))), ""


def unseen_sd_j(water_w: Numbers, filled_w: Numbers) -> float:
    """How far the heat of all gaps may be off: as far as gaps as long as these where it is seen."""
    seen = np.isfinite(water_w)
    edges = np.flatnonzero(np.diff(np.concatenate([[True], seen, [True]]).astype(int)))
    sums = np.concatenate([[0.0], np.cumsum(filled_w)])
    known = np.concatenate([[0], np.cumsum(seen)])
    square = 0.0
    for first, end in edges.reshape(-1, 2):
        rows = int(end - first)
        begins = np.arange(1, len(water_w) - rows - 1, max(rows // 2, 1))
        whole = known[begins + rows + 1] - known[begins - 1] == rows + 2
        begins = begins[whole]
        if len(begins):
            drawn = 0.5 * rows * (filled_w[begins - 1] + filled_w[begins + rows])
            square += float(np.mean((sums[begins + rows] - sums[begins] - drawn) ** 2))
        else:
            square += float(UNSEEN_SD * filled_w[first:end].sum()) ** 2
    return float(np.sqrt(square)) * ROW_S


def largest_w(heat: Heat, minutes: float = 3.0) -> tuple[float, float]:
    """The largest heat held for some minutes, W, and when it ended, s; NaN where none is."""
    rows = int(minutes * MINUTE_ROWS)
    if len(heat.water_w) < rows:
        return np.nan, np.nan
    sums = np.convolve(np.nan_to_num(heat.water_w), np.full(rows, 1.0 / rows), "valid")
    gaps = np.convolve(np.isnan(heat.water_w).astype(float), np.ones(rows), "valid") > 0.5
    sums[gaps] = -np.inf
    best = int(np.argmax(sums))
    if not np.isfinite(sums[best]):
        return np.nan, np.nan
    return float(sums[best]), float(heat.time_s[best + rows - 1])


def _most_w(heat: Heat) -> float:
    return largest_w(heat)[0]


def _mean_w(values: Numbers) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else np.inf
