"""Frost, the pump's suction, and the room that warm water wants."""

from __future__ import annotations

import math
from collections.abc import Iterator

from coilward.loop.derived import Derived
from coilward.loop.frost import GUARD_START_C
from coilward.loop.hydraulics import all_lines
from coilward.loop.model import Loop
from coilward.loop.sums.expansion import expansion_share
from coilward.loop.sums.suction import suction_head_m
from coilward.loop.units import System, show
from coilward.loop.water import standard_pressure_kpa
from coilward.sizing.row import Row

FROST, WATER = "Frost", "Water"
SUCTION_LOSS_M = 0.3
"""Strainer, hose and inlet on the suction side (common practice, no source)."""
COLD_C = 10.0


def frost_rows(_: Loop, derived: Derived, system: System) -> Iterator[Row]:
    """How long each outdoor line stays open, and how long the pump may rest."""
    for line in derived.freeze_s:
        yield Row(
            f"freeze_{line.line}_min", FROST, f"{line.line} line, still, to freezing",
            line.running_s / 60, "min", "more",
            f"from running; {line.cool_s / 60:.0f} min from {show(GUARD_START_C, 'c', system)}",
        )
    yield Row(
        "pump_rest_min", FROST, "longest rest of the pump", derived.pump_rest_s / 60, "min",
        "more", "" if math.isfinite(derived.pump_rest_s) else "no line lies in the frost",
    )


def water_l(loop: Loop, derived: Derived) -> float:
    """All the water of the loop, L."""
    lines_l = sum(
        1e3 * math.pi / 4 * (line.inside_diameter_mm / 1e3) ** 2 * line.length_m
        for line in all_lines(loop)
    )
    parts_l = [part.water_l for part in (loop.radiator, loop.dump) if part]
    return loop.tank.water_l + derived.coil_water_l + lines_l + sum(parts_l)


def suction_m(loop: Loop, tank_c: float) -> float:
    """Suction head at the pump with the tank so hot, m."""
    above_m = loop.layout.heights.tank_water_m - loop.layout.heights.pump_m
    pressure_kpa = standard_pressure_kpa(loop.site.altitude_m)
    return suction_head_m(pressure_kpa, tank_c, above_m, SUCTION_LOSS_M)


def water_rows(loop: Loop, derived: Derived, system: System) -> Iterator[Row]:
    """Suction head at the hottest tank, and the space that the water needs to grow."""
    hot_c = derived.tank_hh_c
    all_l = water_l(loop, derived)
    yield Row(
        "suction_m", WATER, "suction head at the pump", suction_m(loop, hot_c), "m", "more",
        f"tank at its high-high, {show(SUCTION_LOSS_M, 'm', system)} lost on the way",
    )
    yield Row("water_l", WATER, "water in the loop", all_l, "l")
    yield Row(
        "expansion_l", WATER, "free space for its growth",
        all_l * expansion_share(COLD_C, hot_c), "l", "less",
        f"{show(COLD_C, 'c', system)} to the tank's high-high",
    )
    yield Row(
        "expansion_boil_l", WATER, "and up to boiling",
        all_l * expansion_share(COLD_C, derived.boil_c), "l", "less",
    )
