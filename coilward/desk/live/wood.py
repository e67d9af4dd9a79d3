"""May I add wood? A table of what forbids it, and what has to be waited for."""

from __future__ import annotations

import math
from typing import Final

from coilward.controller import phases as ph
from coilward.controller.interlocks import ROWS
from coilward.controller.latching import first_of
from coilward.desk.live.answers import Answer, Rule, first_fit, no
from coilward.desk.live.scene import Scene
from coilward.desk.live.sentence import RANK_1, RANK_2
from coilward.desk.live.slopes import time_to_s
from coilward.desk.live.words import about, whole
from coilward.loop.states import min_flow_lpm
from coilward.loop.units import show

NEAR_LARGEST: Final = 0.9
STRONG: Final = 1.1
"""Of the nominal heat: a fire that gives more than this has wood enough."""
LEAST_WAIT_S: Final = 60.0


def _wait(seconds: float, what: str) -> Answer:
    """Minutes where they can be told."""
    if not math.isfinite(seconds):
        return Answer("wait", what)
    return Answer("wait", f"{about(max(seconds, LEAST_WAIT_S))}: {what[:1].lower()}{what[1:]}")


def _alarm(scene: Scene) -> Answer:
    rows = scene.active & RANK_1 or scene.active & RANK_2
    return Answer("no", ROWS[first_of(rows)].happened)


def _warm_tank(scene: Scene) -> Answer:
    warn_c, system = scene.place.constants.limits.tank_warn_c, scene.place.system
    cools_s = time_to_s(scene.seen.tank_c - warn_c, -scene.slopes.tank_k_s)
    return _wait(cools_s, f"The tank has to cool under {whole(warn_c, 'c', system)} first.")


def _warm_outlet(scene: Scene) -> Answer:
    warn_c, system = scene.place.constants.limits.outlet_warn_c, scene.place.system
    cools_s = time_to_s(scene.seen.outlet_c - warn_c, -scene.slopes.outlet_k_s)
    return _wait(cools_s, f"The outlet has to cool under {whole(warn_c, 'c', system)} first.")


def needed_lpm(scene: Scene) -> float:
    """Flow that the largest fire would need from here."""
    limits, water = scene.place.constants.limits, scene.place.constants.water
    return min_flow_lpm(water.heat_largest_w, limits.allow_c, scene.seen.tank_c, water.least_lpm)


def _too_little_flow(scene: Scene) -> bool:
    return not needed_lpm(scene) <= scene.place.constants.water.open_lpm


def _strong(scene: Scene) -> Answer:
    water = scene.place.constants.water
    falls_s = time_to_s(scene.heat_w - water.heat_nominal_w, -scene.slopes.heat_w_s)
    near = scene.heat_w >= NEAR_LARGEST * water.heat_largest_w
    size = "near the largest that this loop was built for" if near else "strong"
    heat = show(scene.heat_w, "w", scene.place.system)
    return _wait(falls_s, f"The fire is {size}, {heat}. Let it burn down.")


def _finished(scene: Scene) -> bool:
    return not scene.seen.tank_c < scene.place.constants.limits.tank_finish_c


def _yes(scene: Scene) -> Answer:
    trip_c, system = scene.place.constants.limits.tank_trip_c, scene.place.system
    room_k = trip_c - scene.seen.tank_c
    return Answer(
        "yes",
        f"Usual wood, usual load: the tank is {whole(room_k, 'k', system)} under its trip.",
    )


RULES: Final[tuple[Rule, ...]] = (
    ("dry", lambda scene: scene.phase == ph.DRY or scene.tick.state.mode.dry,
     no("Stay away: the coil may be dry and red hot.")),
    ("no flow", lambda scene: scene.phase == ph.NO_FLOW, no("The water stands.")),
    ("alarm", lambda scene: bool(scene.active & (RANK_1 | RANK_2)), _alarm),
    ("too hot", lambda scene: scene.phase == ph.DUMP, no("The loop is shedding heat.")),
    ("degraded", lambda scene: scene.phase == ph.DEGRADED,
     no("An instrument is lost, and the run ends.")),
    ("ending", lambda scene: scene.phase == ph.SHUTDOWN,
     no("The fire is ending, and its damper is shut.")),
    ("may light", lambda scene: scene.phase == ph.COLD_START and scene.tick.state.mode.permitted,
     lambda _: Answer("yes", "The check has passed: you may light.")),
    ("check", lambda scene: scene.phase == ph.COLD_START, no("The check is not over.")),
    ("not burning", lambda scene: scene.phase not in (ph.WARM_UP, ph.RUN),
     no("No fire without the check: press \"prepare\" at the board.")),
    ("unknown", lambda scene: math.isnan(scene.seen.tank_c) or math.isnan(scene.seen.outlet_c),
     no("Outlet or tank can't be read.")),
    ("finished", _finished, no("The tub gets warm enough with what burns now.")),
    ("warm tank", lambda scene: not scene.seen.tank_c < scene.place.constants.limits.tank_warn_c,
     _warm_tank),
    ("warm outlet",
     lambda scene: not scene.seen.outlet_c < scene.place.constants.limits.outlet_warn_c,
     _warm_outlet),
    ("flow", _too_little_flow,
     lambda _: Answer("wait", "The largest fire would need more water than the loop can move.")),
    ("strong fire",
     lambda scene: not scene.heat_w < STRONG * scene.place.constants.water.heat_nominal_w,
     _strong),
)  # fmt: skip


def wood(scene: Scene) -> Answer:
    """May I add wood?"""
    return first_fit(RULES, scene) or _yes(scene)
