"""Where the tank goes: warming or cooling, where it will settle, and when."""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

from coilward.controller import phases as ph
from coilward.desk.live.scene import Scene
from coilward.desk.live.slopes import time_to_s
from coilward.desk.live.words import about, per_hour, whole
from coilward.loop.states import LEAST_COOLING_W_K
from coilward.loop.sums.settle import Settled, settled
from coilward.loop.trips import is_tub
from coilward.sizing.settling import NEAR_K, near_s

Way = Literal["warming", "cooling", "steady", "unknown"]
STEADY_K_S: Final = 0.5 / 3600
LEAST_W: Final = 300.0
"""Less heat than this settles nowhere worth telling."""


class Trend(NamedTuple):
    """One arrow with its words."""

    way: Way
    rate: str
    end: str


def way(slope_k_s: float) -> Way:
    """Up, down or neither."""
    if math.isnan(slope_k_s):
        return "unknown"
    if abs(slope_k_s) < STEADY_K_S:
        return "steady"
    return "warming" if slope_k_s > 0.0 else "cooling"


def settles(scene: Scene) -> Settled | None:
    """Where outlet and tank end if the fire stays as it is; None where nothing can be told."""
    loop, derived, water = scene.place.loop, scene.place.derived, scene.place.constants.water
    radiator, heat_w = loop.radiator, scene.heat_w
    if radiator is None or not heat_w >= LEAST_W or not scene.seen.flow_good:
        return None
    on, off = radiator.fans_on_w_k, radiator.fans_off_w_k
    conductance_w_k = off + (on - off) * scene.tick.commands.fans
    room_c = scene.tick.readings.room_c
    return settled(
        heat_w, max(conductance_w_k, LEAST_COOLING_W_K), water.w_per_lpm_k * scene.seen.flow_lpm,
        loop.room.air_c if math.isnan(room_c) else room_c, derived.tank_heat_j_k,
        scene.seen.flow_lpm,
    )


def _end(scene: Scene) -> str:
    system, tank_c = scene.place.system, scene.seen.tank_c
    if math.isnan(tank_c):
        return "The tank can't be read."
    if scene.phase in (ph.NO_FLOW, ph.DRY):
        return "The water stands: the tank tells nothing about the coil."
    if scene.phase in (ph.DUMP, ph.SHUTDOWN, ph.DEGRADED):
        warms = "it warms until the fire has died down, then" if _warms(scene) else "it"
        return f"The damper is shut: {warms} goes toward the air around it."
    if scene.phase not in (ph.WARM_UP, ph.RUN):
        return "No fire: it goes toward the air around it."
    if is_tub(scene.place.loop):
        return _tub(scene)
    end = settles(scene)
    if end is None:
        return "Where it settles can't be told yet."
    near = near_s(end.tank_c, tank_c, end.tau_s)
    near_words = whole(NEAR_K, "k", system)
    when = "It is there" if near <= 0.0 else f"Within {near_words} of it in {about(near)}"
    return (
        f"Settles at {whole(end.tank_c, 'c', system)}, the outlet at "
        f"{whole(end.outlet_c, 'c', system)}, if fire, flow and fans stay. {when}."
    )


def _warms(scene: Scene) -> bool:
    return way(scene.slopes.tank_k_s) == "warming"


def _tub(scene: Scene) -> str:
    finish_c = scene.place.constants.limits.tank_finish_c
    left_s = time_to_s(finish_c - scene.seen.tank_c, scene.slopes.tank_k_s)
    if not math.isfinite(left_s):
        return f"The fire is finished at {whole(finish_c, 'c', scene.place.system)}."
    return (
        f"The fire is finished at {whole(finish_c, 'c', scene.place.system)}, "
        f"in {about(left_s)} at this slope."
    )


def trend(scene: Scene) -> Trend:
    """The tank's arrow."""
    slope_k_s = scene.slopes.tank_k_s
    known = way(slope_k_s)
    rate = "" if known in ("unknown", "steady") else per_hour(slope_k_s, scene.place.system)
    return Trend(known, rate, _end(scene))
