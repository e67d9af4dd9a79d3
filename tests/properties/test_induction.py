"""The finite part by k-induction, each property beside a wrong table that must break it."""

from __future__ import annotations

import pytest
import z3

from coilward.controller import phases as ph
from coilward.controller.interlocks import LATCH_DRY
from coilward.controller.state import NO
from tests.properties.induction import has, induct, one_of
from tests.properties.wrong_tables import WRONG

WATERED = (ph.WARM_UP, ph.RUN, ph.DUMP, ph.SHUTDOWN, ph.DEGRADED)


def ticked(i):
    return i.kind == 0


def dry_is_locked(s, i, after):
    """A coil that may be dry is in the lock-out, or will be after the tick of a boot."""
    return z3.Implies(after.dry, one_of(after.phase, (ph.DRY, ph.BOOT)))


def locked_is_dry(s, i, after):
    return z3.Implies(after.phase == ph.DRY, after.dry)


def dry_rows_are_locked(s, i, after):
    return z3.Implies(has(after.latched, LATCH_DRY), after.dry)


def dry_row_locks(s, i, after):
    """One tick from the row to the lock-out."""
    counts = z3.And(ticked(i), has(i.facts, ph.ROW_DRY))
    return z3.Implies(counts, z3.And(after.phase == ph.DRY, after.dry))


def left_by_hand(s, i, after):
    """A restart does not count as leaving: it comes back at once."""
    left = z3.And(s.phase == ph.DRY, z3.Not(one_of(after.phase, (ph.DRY, ph.BOOT))))
    return z3.Implies(left, z3.And(i.reset, after.fire == NO))


def dry_clears_by_hand(s, i, after):
    cleared = z3.And(s.dry, z3.Not(after.dry))
    return z3.Implies(cleared, z3.And(ticked(i), i.reset, s.phase == ph.DRY, after.fire == NO))


def latches_clear_by_hand(s, i, after):
    return z3.Implies(s.latched & ~after.latched != 0, z3.And(ticked(i), i.reset))


def no_flow_leads(s, i, after):
    counts = z3.And(ticked(i), has(i.facts, ph.ROW_NO_FLOW), one_of(s.phase, WATERED))
    return z3.Implies(counts, one_of(after.phase, (ph.NO_FLOW, ph.DRY)))


def ending_leads(s, i, after):
    counts = z3.And(ticked(i), has(i.facts, ph.ROW_SHUTDOWN), one_of(s.phase, ph.HEATING))
    return z3.Implies(counts, one_of(after.phase, (ph.SHUTDOWN, ph.NO_FLOW, ph.DRY)))


def hot_leads(s, i, after):
    counts = z3.And(
        ticked(i), has(i.facts, ph.ROW_DUMP), one_of(s.phase, (ph.WARM_UP, ph.RUN, ph.DUMP))
    )
    return z3.Implies(counts, z3.Not(one_of(after.phase, (ph.WARM_UP, ph.RUN, *ph.RESTING))))


def no_run_latched(s, i, after):
    return z3.Implies(one_of(after.phase, (ph.WARM_UP, ph.RUN)), after.latched == 0)


def no_check_latched(s, i, after):
    entered = z3.And(after.phase == ph.COLD_START, s.phase != ph.COLD_START)
    return z3.Implies(entered, after.latched == 0)


def permission_in_the_check(s, i, after):
    return z3.Implies(after.permitted, after.phase == ph.COLD_START)


def heat_is_acted_on(s, i, after):
    lit = z3.And(s.phase == ph.COLD_START, s.permitted, after.fire != NO)
    unpermitted = z3.And(has(i.facts, ph.HEAT_UNPERMITTED), one_of(s.phase, ph.RESTING))
    return z3.Implies(
        z3.And(ticked(i), z3.Or(lit, unpermitted)), z3.Not(one_of(after.phase, ph.RESTING))
    )


PROPERTIES = {
    "dry-is-locked": dry_is_locked, "locked-is-dry": locked_is_dry,
    "dry-row-locks": dry_row_locks, "dry-rows-are-locked": dry_rows_are_locked,
    "left-by-hand": left_by_hand, "dry-clears-by-hand": dry_clears_by_hand,
    "latches-clear-by-hand": latches_clear_by_hand, "no-flow-leads": no_flow_leads,
    "ending-leads": ending_leads, "hot-leads": hot_leads, "no-run-latched": no_run_latched,
    "no-check-latched": no_check_latched, "permission-in-the-check": permission_in_the_check,
    "heat-is-acted-on": heat_is_acted_on,
}
LEMMAS = (dry_is_locked, locked_is_dry)
"""Shown first by themselves, then given to the others."""


@pytest.mark.parametrize("name", PROPERTIES)
def test_holds_by_induction(name):
    holds = PROPERTIES[name]
    verdict = induct(holds, lemmas=() if holds in LEMMAS else LEMMAS)
    assert verdict.counterexample == ""
    assert verdict.k >= 1


@pytest.mark.parametrize(("name", "wrong"), WRONG)
def test_a_wrong_table_is_found_out(name, wrong):
    """From a new board, with the ticks that lead there."""
    verdict = induct(PROPERTIES[name], wrong)
    assert verdict.k == 0
    assert verdict.counterexample.startswith("standby, fire no")


def goes(after, **fields):
    """A tick that the logic does not have: some fields as said, the rest free."""
    return z3.And([getattr(after, name) == value for name, value in fields.items()])


FLAWS = {
    "locked-is-dry": lambda s, i, after: goes(after, phase=ph.DRY, dry=False, fire=NO, latched=0),
    "dry-clears-by-hand": lambda s, i, after: z3.And(
        s.dry, goes(after, dry=False, phase=ph.STANDBY, fire=NO, latched=0)
    ),
    "latches-clear-by-hand": lambda s, i, after: z3.And(
        z3.Not(i.reset), goes(after, phase=s.phase, latched=0, dry=s.dry, fire=s.fire)
    ),
    "permission-in-the-check": lambda s, i, after: goes(
        after, phase=ph.STANDBY, permitted=True, dry=s.dry, fire=s.fire, latched=s.latched
    ),
}


@pytest.mark.parametrize("name", FLAWS)
def test_a_wrong_tick_is_found_out(name):
    verdict = induct(PROPERTIES[name], flaw=FLAWS[name])
    assert verdict.k == 0
    assert verdict.counterexample.startswith("standby, fire no")


def test_every_property_has_its_wrong_twin():
    assert {name for name, _ in WRONG} | set(FLAWS) == set(PROPERTIES)
