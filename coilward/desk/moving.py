"""The phase machine with one loop's numbers: every change of phase, and when it comes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from coilward.controller import phases
from coilward.controller.estimating import PROOF_S
from coilward.controller.facts import (
    BOOT_S,
    COOLED_S,
    DUMP_LEAST_S,
    LINE_COLD_C,
    LINE_WARM_S,
    NO_HEAT_S,
    NO_HEAT_WARM_UP_S,
    WARM_C,
)
from coilward.controller.phases import PHASES, Step
from coilward.controller.prelight import GIVEN_S
from coilward.controller.remembering import IDLE_K, LINE_WARM_C
from coilward.desk.times import span
from coilward.desk.tripping import LEADS_TO, Setting, every


@dataclass(frozen=True)
class Change:
    """One row of the phase table: from where to where, why, and when in this loop."""

    sources: tuple[str, ...]
    target: str
    why: str
    when: str


def _cooled(here: Setting) -> str:
    outlet_c = here.constants.reckoned.outlet_cooled_c
    tank_c = here.constants.reckoned.tank_cooled_c
    return (
        f"outlet under {here.temperature(outlet_c)} and tank under {here.temperature(tank_c)} for "
        f"{span(COOLED_S)}, at least {span(DUMP_LEAST_S)} in the dump"
    )


def _warm(here: Setting) -> str:
    over_k = here.constants.reckoned.warm_k
    return (
        f"outlet at {here.temperature(WARM_C)}, or {here.difference(over_k)} over the tank, "
        "whichever comes first"
    )


def _no_heat(_: Setting) -> str:
    return (
        f"outlet within {IDLE_K:g} K of the tank for {span(NO_HEAT_S)} "
        f"({span(NO_HEAT_WARM_UP_S)} in warm-up)"
    )


def _row(code: str) -> Callable[[Setting], str]:
    def told(_: Setting) -> str:
        names = [row.name for row in every() if row.next == code]
        return "one of " + ", ".join(names)

    return told


FACTS: Final[dict[str, Callable[[Setting], str]]] = {
    "row_dry": _row("dry"),
    "row_no_flow": _row("no-flow"),
    "row_shutdown": _row("shutdown"),
    "row_degraded": _row("degraded"),
    "row_dump": _row("dump"),
    "heat_unpermitted": lambda _: "heat in the coil without a finished check (C34)",
    "water_found_moving": lambda _: "the water moves and the pump's contact is closed",
    "boot_waited": lambda _: f"{span(BOOT_S)} after the start",
    "line_cold": lambda here: f"an outdoor line under {here.temperature(LINE_COLD_C)}",
    "line_warm": lambda here: f"all lines over {here.temperature(LINE_WARM_C)} for "
    f"{span(LINE_WARM_S)}",
    "prepare": lambda _: "a person asks for the check",
    "check_passed_and_lit": lambda _: "every point of the check passed, then a fire",
    "check_over": lambda _: f"{span(GIVEN_S)} without a fire",
    "finish": lambda _: "a person tells the last load",
    "warm": _warm,
    "no_heat": _no_heat,
    "cooled": _cooled,
    "flow_returned": lambda _: f"flow proven for {span(PROOF_S)}",
    "tank_low_low": lambda here: f"under {100 * here.loop.tank.low_low:.0f} % of the tank",
    "tank_finished": lambda here: f"tank at {here.temperature(here.derived.tank_finish_c)}",
    "instruments_clean": _row("degraded"),
    "dry_reset": lambda _: "fire out, metal cold, coil full, and reset held at the board",
    "key_and_cold": lambda _: "the key is turned, the fire out and the coil cold",
    "key_off": lambda _: "the key is turned back",
    "coil_may_be_dry": lambda _: "the coil may be dry",
    "fire_out": lambda _: "the fire is known to be out",
    "person_latched": lambda _: "a latch waits for a person",
    "meter_dead_water_moves": lambda _: "C17: the meter is dead, other evidence says water moves",
}
"""What makes a fact true, where its name does not say all; the facts named was_* read the
phase before."""


def _fact(name: str, here: Setting) -> str:
    if name == "tank_finished" and here.derived.tank_finish_c == float("inf"):
        return "never: this tank heats a room"
    if name == "instruments_clean":
        return "none " + FACTS["row_degraded"](here).removeprefix("one ")
    if name.startswith("was_"):
        return f"it was {name.removeprefix('was_').replace('_', ' ')}"
    return FACTS[name](here) if name in FACTS else name.replace("_", " ")


def changes(here: Setting) -> list[Change]:
    """Every row of the phase table in its order: the first that matches wins."""
    return [
        Change(
            tuple(PHASES[source] for source in step.sources),
            PHASES[step.target],
            step.why,
            _when(step, here),
        )
        for step in phases.TABLE
    ]


def _when(step: Step, here: Setting) -> str:
    wanted = [_fact(name, here) for name in step.needs]
    return "; ".join(wanted + [f"and not: {_fact(name, here)}" for name in step.forbids])


def leads_to(code: str) -> str:
    """The phase to which a row leads, in words."""
    return LEADS_TO.get(code, code)
