"""The phase table as a transition relation over bit-vectors, and k-induction with z3.

A second encoding of the same tick, sharing no code with the search but the tables themselves:
here every row is its own bit, nothing is grouped, and no state is ever listed. The solver is
a checker's tool; the program that runs at home does not need it, so it lives with the tests.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import z3

from coilward.controller import phases as ph
from coilward.controller.interlocks import ANY_TIME, LATCH_DRY, LATCHING, ROWS, names
from coilward.controller.phases import FACTS, PHASES, TABLE, Step, fact
from coilward.controller.state import FIRE_STATES, NO, UNKNOWN, YES
from coilward.proving.grouping import row_facts

BITS = 62
"""Width of a set of rows, and of a set of facts."""


class At(NamedTuple):
    """The logic between two ticks."""

    phase: z3.BitVecRef
    came_from: z3.BitVecRef
    fire: z3.BitVecRef
    dry: z3.BoolRef
    permitted: z3.BoolRef
    latched: z3.BitVecRef


class During(NamedTuple):
    """What happens in a tick."""

    kind: z3.BitVecRef
    """0 a tick, 1 a reboot, 2 a damaged memory."""
    raised: z3.BitVecRef
    facts: z3.BitVecRef
    found_dry: z3.BoolRef
    reset: z3.BoolRef
    cleared: z3.BitVecRef


Property = Callable[[At, During, At], z3.BoolRef]


def at(step: int) -> At:
    """The variables before tick `step`."""
    return At(
        z3.BitVec(f"phase{step}", 5), z3.BitVec(f"came{step}", 5), z3.BitVec(f"fire{step}", 2),
        z3.Bool(f"dry{step}"), z3.Bool(f"permitted{step}"), z3.BitVec(f"latched{step}", BITS),
    )


def during(step: int) -> During:
    """The variables of tick `step`."""
    return During(
        z3.BitVec(f"kind{step}", 2), z3.BitVec(f"raised{step}", BITS),
        z3.BitVec(f"facts{step}", BITS), z3.Bool(f"found{step}"), z3.Bool(f"reset{step}"),
        z3.BitVec(f"cleared{step}", BITS),
    )


def has(mask: z3.BitVecRef, bits: int) -> z3.BoolRef:
    """One of the bits is set."""
    return mask & bits != 0


def one_of(value: z3.BitVecRef, choices: tuple[int, ...]) -> z3.BoolRef:
    """The value is one of some."""
    return z3.Or([value == choice for choice in choices])


def new_board(s: At) -> z3.BoolRef:
    """As a board comes out of its box."""
    return z3.And(
        s.phase == ph.STANDBY, s.came_from == ph.STANDBY, s.fire == NO, z3.Not(s.dry),
        z3.Not(s.permitted), s.latched == 0,
    )


def target(table: tuple[Step, ...], s: At, facts: z3.BitVecRef) -> z3.BitVecRef:
    """The first row of the table that matches, as one nested choice."""
    goes: z3.BitVecRef = s.phase
    for row in reversed(table):
        needs = sum(fact(name) for name in row.needs)
        forbids = sum(fact(name) for name in row.forbids)
        matches = z3.And(
            one_of(s.phase, row.sources), facts & needs == needs, facts & forbids == 0
        )
        goes = z3.If(matches, z3.BitVecVal(row.target, 5), goes)
    return goes


WAS = {
    ph.WARM_UP: ph.WAS_WARM_UP, ph.RUN: ph.WAS_RUN, ph.DUMP: ph.WAS_DUMP,
    ph.DEGRADED: ph.WAS_DEGRADED,
}


def ties(s: At, i: During, after: At, latched: z3.BitVecRef, dry: z3.BoolRef) -> z3.BoolRef:
    """The facts that follow from the state and from the rows."""
    facts, out = i.facts, after.fire == NO
    active = i.raised | z3.If(out, z3.BitVecVal(0, BITS), latched)
    sets = {"raised": i.raised, "active": active, "kept.latched": latched}
    tied = []
    for told in row_facts():
        hit = has(sets[told.word], told.mask)
        tied.append(has(facts, told.fact) == hit)
        if told.otherwise:
            tied.append(has(facts, told.otherwise) == z3.Not(hit))
    boot = s.phase == ph.BOOT
    seen_out = has(facts, ph.FIRE_OUT)
    unlocked = z3.And(i.reset, s.phase == ph.DRY, out)
    tied += [
        z3.If(boot, z3.Implies(seen_out, z3.And(s.fire == NO, out)), seen_out == out),
        has(facts, ph.COIL_MAY_BE_DRY) == dry,
        has(facts, ph.DRY_RESET) == unlocked,
        has(facts, ph.CHECK_PASSED_AND_LIT)
        == z3.And(s.phase == ph.COLD_START, s.permitted, z3.Not(out)),
    ]
    remembers = z3.Or(
        s.phase == ph.NO_FLOW, z3.And(boot, one_of(s.came_from, (*WAS, ph.SHUTDOWN)))
    )
    for phase, was in WAS.items():
        tied.append(has(facts, was) == z3.And(remembers, s.came_from == phase))
    others = z3.Not(one_of(s.came_from, tuple(WAS)))
    tied.append(has(facts, ph.WAS_SHUTDOWN) == z3.And(remembers, others))
    return z3.And(tied)


def tick(table: tuple[Step, ...], s: At, i: During, after: At) -> z3.BoolRef:
    """One tick of the logic."""
    out = after.fire == NO
    fires = z3.Or(
        after.fire == s.fire, after.fire == YES, out,
        z3.And(after.fire == UNKNOWN, s.fire == NO, s.phase == ph.BOOT),
    )
    must = z3.Or(s.dry, z3.And(s.phase == ph.DRY, z3.Not(out)))
    found = z3.And(z3.Implies(must, i.found_dry), z3.Implies(z3.And(i.found_dry, out), s.dry))
    unlocked = z3.And(i.reset, s.phase == ph.DRY, out)
    by_hand = z3.And(i.reset, s.phase != ph.DRY, s.phase != ph.BOOT)
    cleared = z3.If(
        unlocked, i.cleared == LATCH_DRY,
        z3.If(
            by_hand,
            z3.And(i.cleared & (i.cleared - 1) == 0, i.cleared & (i.raised | LATCH_DRY) == 0),
            i.cleared == 0,
        ),
    )
    latched = (s.latched | i.raised & LATCHING) & ~i.cleared
    dry = z3.And(i.found_dry, z3.Not(unlocked))
    entered = z3.And(after.phase != s.phase, s.phase != ph.BOOT)
    kept = one_of(after.phase, (ph.NO_FLOW, ph.BOOT))
    came = z3.If(kept, z3.If(entered, s.phase, s.came_from), after.phase)
    checks = z3.And(s.phase == ph.COLD_START, after.phase == ph.COLD_START)
    return z3.And(
        fires, found, cleared, z3.ULT(i.raised, 1 << len(ROWS)), z3.ULT(i.facts, 1 << len(FACTS)),
        z3.Implies(out, i.raised & ~z3.BitVecVal(ANY_TIME, BITS) == 0),
        ties(s, i, after, latched, dry),
        after.phase == target(table, s, i.facts), after.came_from == came,
        after.dry == z3.Or(dry, z3.And(after.phase == ph.DRY, z3.Not(out))),
        z3.Implies(after.permitted, checks), after.latched == latched,
    )


def restart(s: At, i: During, after: At) -> z3.BoolRef:
    """A reboot, or a memory that turns out to be damaged."""
    broken = i.kind == 2
    came = z3.If(
        broken, z3.BitVecVal(ph.BOOT, 5), z3.If(s.phase == ph.BOOT, s.came_from, s.phase)
    )
    return z3.And(
        after.phase == ph.BOOT, after.came_from == came, after.dry == s.dry,
        after.fire == z3.If(broken, z3.BitVecVal(UNKNOWN, 2), s.fire),
        after.latched == s.latched, z3.Not(after.permitted),
    )


def moves(table: tuple[Step, ...], step: int, flaw: Property | None = None) -> z3.BoolRef:
    """Everything that can happen between two states; a flaw adds a tick that should not be."""
    s, i, after = at(step), during(step), at(step + 1)
    ticks = tick(table, s, i, after)
    if flaw is not None:
        ticks = z3.Or(ticks, flaw(s, i, after))
    return z3.And(z3.ULE(i.kind, 2), z3.If(i.kind == 0, ticks, restart(s, i, after)))


def well_formed(s: At) -> z3.BoolRef:
    """What the types of a stored mode allow."""
    return z3.And(
        z3.ULT(s.phase, len(PHASES)), z3.ULT(s.came_from, len(PHASES)), z3.ULE(s.fire, UNKNOWN),
        s.latched & ~z3.BitVecVal(LATCHING, BITS) == 0,
    )


class Verdict(NamedTuple):
    """What k-induction found."""

    k: int
    """The depth at which the property is inductive; 0 where it is not shown."""
    counterexample: str
    """A way from a new board to the break; empty where none was found."""


def _tell(model: z3.ModelRef, depth: int) -> str:
    def number(term: z3.ExprRef) -> int:
        return model.eval(term, model_completion=True).as_long()

    lines = []
    for step in range(depth + 1):
        s = at(step)
        latched = "+".join(names(number(s.latched)))
        dry = z3.is_true(model.eval(s.dry))
        lines.append(
            f"{PHASES[number(s.phase)]}, fire {FIRE_STATES[number(s.fire)]}"
            f"{', dry' if dry else ''}{', latched ' + latched if latched else ''}"
        )
        if step < depth:
            i = during(step)
            raised, facts = number(i.raised), number(i.facts)
            true = "+".join(name for name in FACTS if facts & fact(name))
            lines.append(f"  rows {'+'.join(names(raised)) or 'none'}, facts {true or 'none'}")
    return "\n".join(lines)


def induct(
    holds: Property, table: tuple[Step, ...] = TABLE, lemmas: tuple[Property, ...] = (),
    flaw: Property | None = None, deepest: int = 8,
) -> Verdict:
    """k-induction: no break within k ticks of a new board, and none after k ticks without one.

    `lemmas` are properties shown before, which may be taken as given in the step.
    """
    first, step = z3.SolverFor("QF_BV"), z3.SolverFor("QF_BV")
    first.add(new_board(at(0)))
    step.add(well_formed(at(0)))
    for k in range(1, deepest + 1):
        here = (at(k - 1), during(k - 1), at(k))
        first.add(moves(table, k - 1, flaw))
        step.add(moves(table, k - 1, flaw), *[lemma(*here) for lemma in lemmas])
        first.push()
        first.add(z3.Not(holds(*here)))
        if first.check() != z3.unsat:
            return Verdict(0, _tell(first.model(), k))
        first.pop()
        step.push()
        step.add(z3.Not(holds(*here)))
        if step.check() == z3.unsat:
            return Verdict(k, "")
        step.pop()
        step.add(holds(*here))
    return Verdict(0, "")
