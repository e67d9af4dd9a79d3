"""The sharp nights with which a hunt begins: which faults first, and at which ends."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from coilward.proving.case import DIMENSIONS, DRAWN, Case, phases_for, place
from coilward.proving.stage import Stage
from coilward.simulator.faults import FAULTS, Fault, Group, lacking

SWEEPS: Final[tuple[dict[str, float], ...]] = (
    {"size": 0.95, "fire": 0.5},
    {"size": 0.05, "fire": 0.5},
    {"size": 0.95, "fire": 0.95, "charge": 0.95, "lively": 0.95, "pace": 0.95},
)
"""Ends of the sharp nights: the largest fire held, with either end of the size, and then a
lively one that burns freely."""
TELLING: Final[tuple[Group, ...]] = (
    "hydraulics", "actuators", "fire", "sensors", "power", "people",
)  # fmt: skip
"""Groups of faults, first those of which every one asks for the whole logic."""
NEVER_THERE: Final = 3
"""Nights about a phase of which not one finds the board in it, before that is a finding."""


def sharp_cases(
    stage: Stage, faults: Sequence[str] | None, seed: int
) -> Iterator[tuple[str, Case]]:
    """With its phase: a sharp night a fault, a few a phase, other sizes and fires, and the rest.

    Faults of which nothing is promised, not even that an interlock tells, are left out.
    """
    rows = _telling(stage, faults)
    phases = {row.name: phases_for(stage.loop, [row]) for row in rows}
    usual = {name: each.index("run") if "run" in each else 0 for name, each in phases.items()}

    def night(row: Fault, index: int, ends: Mapping[str, float]) -> tuple[str, Case]:
        return phases[row.name][index], sharp(Case((row.name,), index, seed), ends)

    for row in rows:
        yield night(row, usual[row.name], SWEEPS[0])
    others = [
        (row, index, phase)
        for row in rows
        for index, phase in enumerate(phases[row.name])
        if index != usual[row.name]
    ]
    begun: Counter[str] = Counter()
    later = []
    for row, index, phase in others:
        begun[phase] += 1
        if begun[phase] <= NEVER_THERE:
            yield night(row, index, SWEEPS[0])
        else:
            later.append((row, index))
    for ends in SWEEPS[1:]:
        for row in rows:
            if row.size_meaning or ends["size"] == SWEEPS[0]["size"]:
                yield night(row, usual[row.name], ends)
    for row, index in later:
        yield night(row, index, SWEEPS[0])


def _telling(stage: Stage, faults: Sequence[str] | None) -> list[Fault]:
    """Faults of which something is promised, first those that ask most of the logic."""
    loop, found = stage.loop, []
    for name in FAULTS if faults is None else faults:
        row = FAULTS[name]
        shown = not row.unshown and not lacking(row, loop) and phases_for(loop, [row])
        if shown and (stage.counted([name]) or row.deadline_s is not None):
            found.append(row)
    found.sort(
        key=lambda row: (
            not stage.counted([row.name]), row.deadline_s is None, TELLING.index(row.group)
        )
    )
    return found


def sharp(case: Case, ends: Mapping[str, float]) -> Case:
    """The case with some of its numbers at their ends, and the others in the middle."""
    u = [0.5] * DIMENSIONS
    for name, end in ends.items():
        u[DRAWN.index(name)] = end
    return place(case, u)
