"""The finite part searched completely, and each of its properties seen failing on a wrong twin."""

from __future__ import annotations

import importlib
import inspect
import re
from itertools import combinations

import pytest

from coilward.controller import phases as ph
from coilward.controller.acting import guarded, overruled
from coilward.controller.estimating import Estimate
from coilward.controller.facts import facts_of
from coilward.controller.interlocks import ROWS
from coilward.controller.latching import Latched, latches
from coilward.controller.phases import next_phase
from coilward.controller.sensing import Seen
from coilward.controller.state import NO, YES, first_state
from coilward.controller.types import Requests
from coilward.proving.finite import Inside, Model, explore
from coilward.proving.grouping import UnprovedError, asked, row_facts, signature, unions
from coilward.proving.outputs import Gates, outputs
from coilward.proving.properties import JUDGED, RULES, no_dead_end, search, show_all
from coilward.proving.readers import emergency_stops_no_water, readers_agree
from coilward.proving.resetting import resets
from tests.controller.rig import constants_of, healthy
from tests.properties.wrong_tables import WRONG, changed, needs, without

CONSTANTS = constants_of()


def test_everything_is_shown():
    shown = show_all(CONSTANTS)
    assert not shown.broken, "\n\n".join(f"{r.name}:\n{r.counterexample}" for r in shown.broken)
    assert all(result.looked_at > 0 for result in shown.results)
    assert {inside.phase for inside in shown.reached.way} == set(range(len(ph.PHASES)))
    lost = no_dead_end(Model(), shown.reached, {})
    assert lost.counterexample, "without a step back every state but one is lost"
    assert lost.looked_at == len(shown.reached.way)


BY_NAME = {
    "dry-is-locked": "_dry_is_locked", "dry-row-locks": "_dry_row_locks",
    "dry-rows-are-locked": "_dry_rows_are_locked", "left-by-hand": "_lock_out_is_left_by_hand",
    "no-flow-leads": "_no_flow_row_leads", "ending-leads": "_ending_row_leads",
    "hot-leads": "_hot_row_leads", "no-run-latched": "_no_run_with_a_latch",
    "no-check-latched": "_no_check_with_a_latch", "heat-is-acted-on": "_heat_is_acted_on",
}


class BrokenError(Exception):
    """The property asked about is broken: no need to search on."""


def breaks(model, name):
    """Whether the search finds a tick that breaks a rule."""
    rule = next(rule for rule in RULES if rule.holds.__name__ == name)

    def look(inside, tick):
        if not rule.holds(model, inside, tick):
            raise BrokenError(model.tell(inside), model.tell_tick(tick))

    try:
        explore(model, look)
    except BrokenError:
        return True
    return False


def test_rules_read_no_fact_that_the_search_does_not_tell_apart():
    read = {name for rule in RULES
            for name in re.findall(r"tick\.facts & ph\.(\w+)", inspect.getsource(rule.holds))}
    assert "ROW_DRY" in read
    mask = 0
    for name in read:
        mask |= getattr(ph, name)
    assert mask == JUDGED


@pytest.mark.parametrize(("name", "wrong"), WRONG)
def test_a_wrong_table_is_found_out(name, wrong):
    assert breaks(Model(wrong), BY_NAME[name])


class Forgetful(Model):
    """The lock-out forgets its latch, latches go by themselves, permission outlives the check."""

    def steps(self, inside, raised=None):
        yield from (
            tick._replace(after=tick.after._replace(**self.wrong(inside, tick)))
            for tick in super().steps(inside, raised)
        )


def twin(wrong):
    return type("Twin", (Forgetful,), {"wrong": staticmethod(wrong)})()


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("_locked_is_dry", lambda inside, tick: {"dry": False}),
        ("_dry_latch_clears_by_hand", lambda inside, tick: {"dry": tick.after.fire != NO
                                                            and tick.after.dry}),
        ("_latches_clear_by_hand", lambda inside, tick: {"latched": 0 if inside.latched
                                                        else tick.after.latched}),
        ("_permission_belongs_to_the_check", lambda inside, tick: {"permitted": True}),
    ],
)
def test_a_wrong_tick_is_found_out(name, wrong):
    assert breaks(twin(wrong), name)


def test_every_rule_has_its_wrong_twin():
    tried = set(BY_NAME.values()) | {
        "_locked_is_dry", "_dry_latch_clears_by_hand", "_latches_clear_by_hand",
        "_permission_belongs_to_the_check",
    }
    assert tried == {rule.holds.__name__ for rule in RULES}


def test_a_dead_end_is_found_and_told():
    result = search(Model(without(needs("dry_reset")))).results[-1]
    assert "no dead end" in result.name
    assert result.counterexample.startswith("standby")
    assert "dry lock-out" in result.counterexample


# --- outputs ---


SAID = (
    "never sees the pump", "only the lock-out or a retry", "emergency button never",
    "below its stop", "opens the valve", "opens the dump", "damper is shut", "the horn",
)


def beaten(**gates):
    """The properties of the outputs that break with wrong gates."""
    some = ((ph.RUN, YES), (ph.DRY, YES), (ph.STANDBY, NO))
    reached = [Inside(phase, phase, fire, phase == ph.DRY, False, 0) for phase, fire in some]
    results = outputs(reached, CONSTANTS, Gates(**gates))
    broken = [result.name for result in results if result.counterexample]
    return {said for said in SAID if any(said in name for name in broken)}


def after(change):
    """The gate's own answer, then spoilt."""
    return lambda *call: change(guarded(*call), *call)


@pytest.mark.parametrize(
    ("name", "spoil"),
    [
        ("never sees the pump", lambda said, *call: said._replace(pump=True)),
        ("only the lock-out or a retry", lambda said, *call: said._replace(pump=False)),
        ("emergency button never", lambda said, base, *call: said._replace(pump=base.pump and
                                                                           not said.pump)),
        ("below its stop", lambda said, *call: said._replace(valve=0.0)),
        ("opens the valve", lambda said, *call: said._replace(valve=CONSTANTS.valve.stop)),
        ("opens the dump", lambda said, *call: said._replace(dump_open=False)),
        ("damper is shut", lambda said, *call: said._replace(damper_open=True)),
        ("the horn", lambda said, *call: said._replace(horn=min(said.horn, 1))),
    ],
)
def test_a_wrong_last_guard_is_found_out(name, spoil):
    assert name in beaten(guarded=after(spoil))


def test_interlocks_that_overrule_nothing_are_found_out():
    found = beaten(overruled=lambda base, *rest: base)
    assert {"opens the valve", "opens the dump", "damper is shut", "the horn"} <= found


def test_a_hold_that_moves_is_found_out():
    def opens(base, active, phase, control):
        return overruled(base, active, ph.STANDBY, control)._replace(valve=1.0, dump_open=True)

    assert {"opens the valve", "opens the dump"} <= beaten(overruled=opens)


# --- the reset button ---


@pytest.mark.parametrize(
    ("names", "wrong"),
    [
        (("its two seconds", "while its cause", "one press"),
         lambda left, mode: left._replace(latched=0)),
        (("its two seconds", "asks for a fire that is out"),
         lambda left, mode: left._replace(dry=False)),
        (("can be cleared",), lambda left, mode: left._replace(latched=mode.latched)),
    ],
)
def test_a_wrong_reset_is_found_out(names, wrong):
    results = resets(CONSTANTS, lambda *call: wrong(latches(*call), call[4]))
    broken = [result.name for result in results if result.counterexample]
    assert all(any(name in found for found in broken) for name in names)


# --- readers of the table ---


def test_a_reader_that_differs_is_found_out():
    assert readers_agree(Model(), lambda phase, facts: next_phase(phase, facts & ~1)).counterexample
    assert readers_agree(Model(without(needs("finish")))).counterexample


def test_a_button_that_stops_the_water_is_found_out():
    wrong = changed(needs("row_shutdown"), target=ph.NO_FLOW)
    assert emergency_stops_no_water(Model(wrong)).counterexample


# --- the grouping ---


def test_sets_of_rows_are_asked_for_masks_alone():
    assert asked(overruled, "active")["PUMP_OFF"] != 0
    assert {told.word for told in row_facts()} == {"raised", "active", "kept.latched"}


@pytest.mark.parametrize(
    "text", ["active + 1", "bool(active)", "active >> 3", "active == 7", "[active]"]
)
def test_any_other_question_stops_the_search(text, tmp_path, monkeypatch):
    (tmp_path / "spoilt.py").write_text(f"def spoilt(active):\n    return {text}\n")
    monkeypatch.syspath_prepend(tmp_path)
    module = importlib.import_module("spoilt")
    importlib.reload(module)
    with pytest.raises(UnprovedError):
        asked(module.spoilt, "active")


def test_unions_are_all_there_are():
    """Against brute force on a few rows."""
    masks = [0b0011, 0b0110, 0b1000, 0b0001]
    signs = [signature(1 << i, masks) for i in range(4)]
    found = unions(signs)
    brute = {signature(rows, masks) for rows in range(16)}
    assert set(found) == brute
    assert all(signature(rows, masks) == sign for sign, rows in found.items())


def test_rows_of_one_group_lead_to_the_same_facts():
    """The real `facts_of`, on every set of two rows against the set that stands for it."""
    model, readings, state = Model(), healthy(CONSTANTS), first_state(CONSTANTS, ph.RUN, YES)
    parts = (state.mode, state.ages, state.watch)
    seen = Seen._make([0.0] * len(Seen._fields))
    now = Estimate._make([0.0] * len(Estimate._fields))

    def facts(rows, latched):
        kept = Latched(latched, False, YES, 0.0, False)
        return facts_of(
            rows | latched, rows, readings, Requests(), seen, now, kept, *parts, CONSTANTS
        )

    bits = [1 << i for i in range(len(ROWS))]
    for one, two in combinations(bits, 2):
        rows = one | two
        stands = model.any_rows[model.sign(rows)]
        assert facts(rows, 0) == facts(stands, 0)
