"""The three margins, each with the time to its limit at the present slope."""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

from coilward.controller.estimating import ENDLESS_LPM
from coilward.desk.live.scene import Scene
from coilward.desk.live.slopes import time_to_s
from coilward.desk.live.words import about, whole

Tone = Literal["well", "care", "act", "unknown"]
FULL_K: Final = 60.0
FULL_RATIO: Final = 3.0
"""Margins that fill their bars."""
NEAR_RATIO: Final = 1.05
"""The valve keeps more than this over the least: less is told."""
FAR_S: Final = 6 * 3600.0
"""No slope of some minutes says anything about later than this."""
FLAT_K_S: Final = 0.003
FLAT_TANK_K_S: Final = 0.2 / 3600
FLAT_RATIO_S: Final = 0.0005
"""Slopes within noise: nothing is on its way."""


class Margin(NamedTuple):
    """One bar: how much is left, of what, and for how long."""

    key: str
    name: str
    value: str
    share: float
    """Of the bar, 0 to 1."""
    to_limit: str
    tone: Tone


def _to_limit(margin: float, closing_per_s: float, flat_per_s: float, limit: str) -> str:
    if math.isnan(margin) or math.isnan(closing_per_s):
        return "trend not known yet"
    if margin <= 0.0:
        return f"{limit} is passed"
    if closing_per_s <= flat_per_s:
        return "steady" if closing_per_s >= -flat_per_s else "growing"
    seconds = time_to_s(margin, closing_per_s)
    return f"{limit} in {about(seconds)} at this slope" if seconds < FAR_S else "far off"


def _share(value: float, full: float) -> float:
    return 0.0 if math.isnan(value) else min(1.0, max(0.0, value / full))


def boiling(scene: Scene) -> Margin:
    """From the hottest believed outlet to boiling in the coil."""
    limits, outlet_c = scene.place.constants.limits, scene.seen.outlet_c
    if scene.water_stands:
        return Margin("boiling", "To boiling", "not known", 0.0, "the water stands", "act")
    left_k = limits.boil_c - outlet_c
    tone: Tone = "well" if outlet_c < limits.outlet_warn_c else "care"
    if outlet_c >= limits.outlet_dump_c:
        tone = "act"
    return Margin(
        "boiling", "To boiling", whole(left_k, "k", scene.place.system), _share(left_k, FULL_K),
        _to_limit(left_k, scene.slopes.outlet_k_s, FLAT_K_S, "boiling"),
        "unknown" if math.isnan(outlet_c) else tone,
    )


def ratio(scene: Scene) -> float:
    """Flow over the minimum of the moment; 0 where no flow would be enough."""
    if scene.now.min_lpm >= ENDLESS_LPM:
        return 0.0
    return scene.seen.flow_lpm / scene.now.min_lpm


def flow(scene: Scene) -> Margin:
    """Flow against the least that the fire needs now."""
    times = ratio(scene)
    if not scene.fire_possible:
        return Margin("flow", "Flow", "no fire", 1.0, "none needed", "well")
    closing = -scene.slopes.flow_lpm_s / scene.now.min_lpm
    tone: Tone = "well" if times >= NEAR_RATIO else "care" if times >= 1.0 else "act"
    return Margin(
        "flow", "Flow", "not known" if math.isnan(times) else f"{times:.1f} x least",
        _share(times, FULL_RATIO), _to_limit(times - 1.0, closing, FLAT_RATIO_S, "the least"),
        "unknown" if math.isnan(times) else tone,
    )


def tank(scene: Scene) -> Margin:
    """From the tank to its trip, or of a tub to what people bear."""
    limits, tank_c = scene.place.constants.limits, scene.seen.tank_c
    left_k = limits.tank_trip_c - tank_c
    tone: Tone = "well" if tank_c < limits.tank_warn_c else "care"
    if tank_c >= limits.tank_trip_c:
        tone = "act"
    return Margin(
        "tank", "Tank to trip", whole(left_k, "k", scene.place.system), _share(left_k, FULL_K),
        _to_limit(left_k, scene.slopes.tank_k_s, FLAT_TANK_K_S, "its trip"),
        "unknown" if math.isnan(tank_c) else tone,
    )


def margins(scene: Scene) -> tuple[Margin, ...]:
    """All three."""
    return boiling(scene), flow(scene), tank(scene)
