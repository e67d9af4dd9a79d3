"""May I go to bed? Only when the burn-out is complete; else when the pump may stop."""

from __future__ import annotations

import math
from typing import Final

from coilward.controller import phases as ph
from coilward.controller.estimating import BURNT_OUT_LEAST_S, BURNT_OUT_S
from coilward.desk.live.answers import Answer, Rule, first_fit, no
from coilward.desk.live.scene import Scene
from coilward.desk.live.words import about

HEAT_SEEN_K, COOL_K = 2.0, 1.0
"""Rise of the coil that counts as heat, and under which the evidence of a burnt-out fire grows."""
EVER: Final = "The horn must still be able to wake somebody: it has its own battery."


def falls_in_s(rise_k: float, to_k: float, decay_s: float) -> float:
    """Time in which a rise that dies away with ``decay_s`` is down to ``to_k``."""
    if math.isnan(rise_k):
        return math.nan
    return decay_s * math.log(rise_k / to_k) if rise_k > to_k else 0.0


def pump_may_stop(scene: Scene) -> float:
    """Seconds until the machine can call the fire out, if no wood is added; NaN if not known.

    The evidence that it asks for: half an hour of a cool coil with water moving, and an hour
    since the last sign of heat.
    """
    decay_s = 60.0 * scene.place.loop.fire.decay_min
    ages, rise_k = scene.tick.state.ages, scene.now.rise_k
    warm_s = falls_in_s(rise_k, HEAT_SEEN_K, decay_s)
    heat_s = warm_s + BURNT_OUT_LEAST_S
    if warm_s == 0.0:
        heat_s = max(0.0, BURNT_OUT_LEAST_S - ages.heat_s)
    cool_s = falls_in_s(rise_k, COOL_K, decay_s)
    cold_s = cool_s + BURNT_OUT_S
    if cool_s == 0.0:
        cold_s = max(0.0, BURNT_OUT_S - ages.cold_s)
    return max(heat_s, cold_s) if not math.isnan(rise_k) else math.nan


def _burning(scene: Scene) -> Answer:
    return Answer(
        "no",
        "The fire is in. If this was the last wood, say so: then the pump may stop in about "
        f"{about(pump_may_stop(scene))} at the earliest.",
    )


def _ending(scene: Scene) -> Answer:
    return Answer(
        "no",
        "The fire is not out yet. Without more wood the pump may stop in about "
        f"{about(pump_may_stop(scene))}.",
    )


def _latched(scene: Scene) -> bool:
    return scene.tick.state.mode.latched != 0


RULES: Final[tuple[Rule, ...]] = (
    ("dry", lambda scene: scene.phase == ph.DRY or scene.tick.state.mode.dry,
     no("The coil may be dry. Somebody has to stay within earshot, and away from it.")),
    ("no flow", lambda scene: scene.phase == ph.NO_FLOW, no("The water stands.")),
    ("burning", lambda scene: scene.fire_possible and scene.phase in (ph.WARM_UP, ph.RUN),
     _burning),
    ("ending", lambda scene: scene.fire_possible, _ending),
    ("alarm", lambda scene: scene.tick.state.raised != 0,
     no("An alarm is on. See to it first.")),
    ("latched", _latched, no("Something waits for a reset at the board.")),
    ("maintenance", lambda scene: scene.phase == ph.MAINTENANCE,
     no("The key is turned: end the maintenance first.")),
    ("check", lambda scene: scene.phase == ph.COLD_START,
     no("The check before a fire is running.")),
    ("boot", lambda scene: scene.phase == ph.BOOT, no("The board has just started.")),
    ("run", lambda scene: scene.phase not in (ph.STANDBY, ph.FREEZE),
     no("The run is not over yet.")),
)  # fmt: skip
"""What forbids it; nothing left means that the fire is out and everything is at rest."""


def bed(scene: Scene) -> Answer:
    """May I go to bed?"""
    return first_fit(RULES, scene) or Answer("yes", f"The fire has burnt out. {EVER}")
