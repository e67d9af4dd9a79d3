"""One phase table, three readers: the flat walk, the `transitions` machine, and the search's.

They are compared on every combination of the facts that a phase reads, not on some. The same
combinations show what one row, the emergency button, can do to a phase.
"""

from __future__ import annotations

from collections.abc import Callable

from coilward.controller import phases as ph
from coilward.controller.interlocks import EMERGENCY
from coilward.controller.phases import FACTS, PHASES, Facts, fact, machine, next_phase
from coilward.proving.finite import Model, combinations
from coilward.proving.result import Result

STOPPING = (ph.DRY, ph.NO_FLOW, ph.BOOT)
"""Phases in which the pump may rest though a fire may be in."""


def _true(facts: int) -> str:
    return "+".join(name for name in FACTS if facts & fact(name)) or "no facts"


def _drawn(phase: int, model: Facts, facts: int) -> int:
    model.state = PHASES[phase]
    model.load(facts)
    getattr(model, "tick")()  # noqa: B009 - the machine adds it at run time
    return PHASES.index(model.state)


def readers_agree(
    model: Model, flat: Callable[[int, int], int] = next_phase
) -> Result:
    """All three on all facts that a phase reads, and on those that it doesn't."""
    looked_at, told = 0, ""
    for phase in range(len(PHASES)):
        _, drawn = machine(phase)
        others = (1 << len(FACTS)) - 1 & ~model.reads[phase]
        for facts in combinations(model.reads[phase]):
            looked_at += 1
            goes = model.walk(phase, facts)
            found = (flat(phase, facts), flat(phase, facts | others), _drawn(phase, drawn, facts))
            if not told and any(target != goes for target in found):
                ways = [PHASES[target] for target in (goes, *found)]
                told = f"{PHASES[phase]}, {_true(facts)}: {ways}"
    return Result("the flat walk, the drawn machine and the table say the same", looked_at, told)


def emergency_stops_no_water(model: Model) -> Result:
    """Pressing the button never leads to a phase in which the pump may rest."""
    raised = model.sign(EMERGENCY)
    pressed = model.counting_facts(raised, 0) & ~ph.INSTRUMENTS_CLEAN | ph.PERSON_LATCHED
    looked_at, told = 0, ""
    for phase in range(len(PHASES)):
        for facts in combinations(model.reads[phase] & ~pressed):
            looked_at += 1
            before, after = model.walk(phase, facts), model.walk(phase, facts | pressed)
            if not told and after in STOPPING and after != before:
                told = f"{PHASES[phase]}, {_true(facts)}: {PHASES[after]}, not {PHASES[before]}"
    return Result("the emergency button leads to no phase that rests the pump", looked_at, told)
