"""The one sentence: a table of rules of which the first that fits speaks."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, Literal, NamedTuple

from coilward.controller import phases as ph
from coilward.controller.interlocks import ROWS, bit
from coilward.controller.latching import first_of
from coilward.controller.prelight import CHECKS
from coilward.desk.live.bed import pump_may_stop
from coilward.desk.live.scene import Scene
from coilward.desk.live.words import about, whole

Tone = Literal["well", "rest", "care", "act", "back"]
TONES: Final[dict[Tone, str]] = {
    "well": "running well", "rest": "at rest", "care": "take care", "act": "act now",
    "back": "get back",
}
"""How grave it is, in words; each has a shape of its own on the page."""

DRY_WORDS: Final = (
    "GET BACK. Coil may be dry and red hot. Keep 10 m away from coil and vent. "
    "Never pour or pump water. Let the fire die."
)
GRAVER_THAN_DRY: Final = bit("C27") | bit("C28")
"""People first: smoke and carbon monoxide are told before the coil."""


class Sentence(NamedTuple):
    """What is read from three metres."""

    tone: Tone
    text: str


Rule = tuple[str, Callable[[Scene], bool], Callable[[Scene], Sentence]]


def rank_mask(*ranks: int) -> int:
    """All rows of these ranks."""
    return sum(1 << index for index, row in enumerate(ROWS) if row.rank in ranks)


def _of_rows(scene: Scene, mask: int, tone: Tone, head: str = "") -> Sentence:
    """The gravest row of a mask, the first-out before others, in its own words."""
    rows = scene.active & mask
    first = scene.tick.state.mode.first_out
    index = first if first >= 0 and rows >> first & 1 else first_of(rows)
    row = ROWS[index]
    return Sentence(tone, f"{head}{row.happened} {row.person}")


def _no_flow(scene: Scene) -> Sentence:
    left_s = scene.still_boil_s - scene.tick.state.ages.still_s
    boils = "The coil may boil now." if left_s < 1 else f"The coil may boil in {about(left_s)}."
    if math.isnan(left_s):
        boils = "Nobody can tell when the coil boils."
    return Sentence("back", f"GET BACK. The water stands. {boils} Don't add wood.")


def _margins(scene: Scene) -> str:
    derived, system = scene.place.derived, scene.place.system
    boil_k = derived.coil_boil_c - scene.seen.outlet_c
    if scene.water_stands:
        return "The water stands."
    return (
        f"{whole(boil_k, 'k', system)} to boiling. "
        f"If the pump stops now you have {about(scene.still_boil_s)}."
    )


def _near(scene: Scene) -> bool:
    limits = scene.place.constants.limits
    return not (
        scene.seen.outlet_c < limits.outlet_warn_c and scene.seen.tank_c < limits.tank_warn_c
    )


def _warm(scene: Scene) -> Sentence:
    limits = scene.place.constants.limits
    what = "The tank" if not scene.seen.tank_c < limits.tank_warn_c else "The coil"
    return Sentence("care", f"{what} is getting too warm. Don't add wood. {_margins(scene)}")


def _ending(scene: Scene) -> Sentence:
    return Sentence(
        "care",
        f"The fire is ending. Don't add wood. {_margins(scene)} "
        f"The pump may stop in {about(pump_may_stop(scene))} at the earliest.",
    )


def _check(scene: Scene) -> Sentence:
    if scene.tick.state.mode.permitted:
        return Sentence("rest", "The check has passed. You may light the fire.")
    passed = scene.tick.state.control.passed.bit_count()
    return Sentence(
        "rest", f"Checking before the fire: {passed} of {len(CHECKS)} passed. Don't light yet."
    )


def _at_rest(scene: Scene) -> Sentence:
    latched = scene.tick.state.mode.latched.bit_count()
    if latched:
        things = "one thing waits" if latched == 1 else f"{latched} things wait"
        return Sentence("care", f"No fire. {things.capitalize()} for a reset at the board.")
    return Sentence("rest", "At rest. No fire.")


def _phase(phase: int) -> Callable[[Scene], bool]:
    return lambda scene: scene.phase == phase


def _rows(mask: int) -> Callable[[Scene], bool]:
    return lambda scene: bool(scene.active & mask)


def _says(tone: Tone, text: str) -> Callable[[Scene], Sentence]:
    return lambda _: Sentence(tone, text)


RANK_1, RANK_2 = rank_mask(1), rank_mask(2)
RULES: Final[tuple[Rule, ...]] = (
    ("people first", _rows(GRAVER_THAN_DRY),
     lambda scene: _of_rows(scene, GRAVER_THAN_DRY, "back")),
    ("dry", _phase(ph.DRY), _says("back", DRY_WORDS)),
    ("dry latch", lambda scene: scene.tick.state.mode.dry, _says("back", DRY_WORDS)),
    ("water stands", lambda scene: scene.phase == ph.NO_FLOW and scene.fire_possible, _no_flow),
    ("rank 1 with a fire",
     lambda scene: scene.fire_possible and bool(scene.active & RANK_1),
     lambda scene: _of_rows(scene, RANK_1, "back", "GET BACK. ")),
    ("maintenance", _phase(ph.MAINTENANCE),
     _says("care", "Maintenance: the key is turned. Nobody lights a fire.")),
    ("boot", _phase(ph.BOOT), _says("care", "The board has just started and looks for water.")),
    ("too hot", _phase(ph.DUMP), lambda scene: Sentence(
        "act", f"Too hot: cooling down. Don't add wood. {_margins(scene)}")),
    ("rank 2 with a fire",
     lambda scene: scene.fire_possible and bool(scene.active & RANK_2),
     lambda scene: _of_rows(scene, RANK_2, "act")),
    ("degraded", _phase(ph.DEGRADED), lambda scene: Sentence(
        "act", f"An instrument is lost: the run ends. Don't add wood. {_margins(scene)}")),
    ("ending", lambda scene: scene.phase == ph.SHUTDOWN and scene.fire_possible, _ending),
    ("raised at rest", lambda scene: bool(scene.tick.state.raised & (RANK_1 | RANK_2)),
     lambda scene: _of_rows(scene, RANK_1 | RANK_2, "act")),
    ("check", _phase(ph.COLD_START), _check),
    ("freeze", _phase(ph.FREEZE), _says("rest", "No fire. Water moves so that no line freezes.")),
    ("rest", lambda scene: not scene.fire_possible, _at_rest),
    ("near a limit", _near, _warm),
    ("a note", lambda scene: bool(scene.active), lambda scene: Sentence(
        "care", f"Running, with a fault. {_margins(scene)}")),
    ("warm-up", _phase(ph.WARM_UP), lambda scene: Sentence(
        "well", f"Warming up. {_margins(scene)}")),
    ("run", _phase(ph.RUN), lambda scene: Sentence("well", f"Running well. {_margins(scene)}")),
)  # fmt: skip
"""Name, when, what; gravest first. The last two leave out only what can't be with a fire in."""

UNKNOWN: Final = Sentence("care", "A fire may be in where none belongs. Stay near the board.")


def sentence(scene: Scene) -> Sentence:
    """What the page says first."""
    for _, fits, says in RULES:
        if fits(scene):
            return says(scene)
    return UNKNOWN


def horn_words(horn: int, silence_s: float) -> str:
    """What the horn does."""
    if silence_s > 0.0:
        return f"Silenced for {about(silence_s)} more."
    return ("The horn is silent.", "The horn beeps.", "The horn sounds on and off.",
            "The horn sounds.")[horn]  # fmt: skip


