"""Every row of the verdict table by itself, and what happens when several are met."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from coilward.desk.findings import findings_on
from coilward.desk.verdict import RULES, WORST_FIRST, Evidence, evidence, judge
from tests.desk.synthetic import TODAY, cause, dead_pump_run, quiet_run

GOOD = Evidence(
    forbidden=(),
    unsound=(),
    missing={},
    quarter_boil_s=7.2,
    first_boil_s=None,
    margin_k=24.0,
    energy_closure=1e-5,
    unfired=(),
    last_phase="standby",
    latched=(),
    rank_1=(),
    outlet_thermometers=2,
    pump_off_with_fire_s=0.0,
)

BROKEN = {
    "forbidden layout": ({"forbidden": ("A valve before the vent.",)}, "do not light"),
    "not sound": ({"unsound": ("The tank settles hot.",)}, "do not light"),
    "no open vent": ({"missing": {"open-vent": "No vent."}}, "do not light"),
    "coil too quick": ({"quarter_boil_s": 1.99}, "do not light"),
    "boiled": ({"first_boil_s": 3674.0}, "do not light"),
    "little margin": ({"margin_k": 4.99}, "do not light"),
    "logic died": ({"died": "KeyError: 1 (mine.py, line 9)"}, "do not light"),
    "energy not closed": ({"energy_closure": 0.0011}, "do not light"),
    "fault never fired": ({"unfired": ("pump-dies",)}, "do not light"),
    "no proven stop": ({"missing": {"valve-stop": "No stop."}}, "attended only"),
    "no gravity damper": ({"missing": {"gravity-damper": "No damper."}}, "attended only"),
    "no pump battery": ({"missing": {"pump-battery": "No battery."}}, "attended only"),
    "no horn battery": ({"missing": {"horn-battery": "No horn."}}, "attended only"),
    "dry lock-out": ({"last_phase": "dry lock-out"}, "attended only"),
    "latched": ({"latched": ("The valve does not follow.",)}, "attended only"),
    "loudest alarm": ({"rank_1": ("The water stopped moving.",)}, "attended only"),
    "one outlet thermometer": ({"outlet_thermometers": 1}, "attended only"),
    "own logic": ({"logic": "mine:decide"}, "attended only"),
    "pump off": ({"pump_off_with_fire_s": 0.25}, "attended only"),
}


def test_a_good_night_may_be_lit_and_gives_no_reason():
    verdict = judge(GOOD)
    assert verdict.word == "may be lit"
    assert verdict.reasons == ()


def test_every_rule_has_a_row_here():
    assert [rule.name for rule in RULES] == list(BROKEN)


@pytest.mark.parametrize("name", BROKEN)
def test_a_rule_alone_decides(name):
    changes, word = BROKEN[name]
    verdict = judge(replace(GOOD, **changes))
    assert verdict.word == word
    assert [(reason.rule, reason.verdict) for reason in verdict.reasons] == [(name, word)]
    text = verdict.reasons[0].text
    assert text[0].isupper()
    assert text.endswith((".", ")."))


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("quarter_boil_s", 2.0),
        ("margin_k", 5.0),
        ("energy_closure", -0.001),
        ("pump_off_with_fire_s", 0.0),
    ],
)
def test_the_edge_itself_still_passes(name, value):
    assert judge(replace(GOOD, **{name: value})).word == "may be lit"


@pytest.mark.parametrize("name", ["quarter_boil_s", "margin_k", "energy_closure"])
def test_a_number_that_is_not_known_is_never_good(name):
    assert judge(replace(GOOD, **{name: math.nan})).word == "do not light"


def test_a_pump_time_that_is_not_known_is_never_good():
    assert judge(replace(GOOD, pump_off_with_fire_s=math.nan)).word == "attended only"


@pytest.mark.parametrize(
    ("key", "word"),
    [("open-vent-small", "do not light"), ("no-volt-release", "attended only")],
)
def test_the_other_findings_on_the_same_hardware_count_too(key, word):
    assert judge(replace(GOOD, missing={key: "Said so."})).word == word


def test_hardware_that_is_only_recommended_does_not_lower_the_verdict():
    assert judge(replace(GOOD, missing={"relief-valve": "No relief."})).word == "may be lit"


def test_the_worst_wins_and_every_reason_is_told_worst_first():
    everything: dict[str, object] = {}
    for changes, _ in BROKEN.values():
        for key, value in changes.items():
            old = everything.get(key, {})
            everything[key] = {**old, **value} if isinstance(value, dict) else value
    verdict = judge(replace(GOOD, **everything))
    assert verdict.word == "do not light"
    # After a boil there is no margin to speak of: that row and "boiled" exclude each other.
    assert {reason.rule for reason in verdict.reasons} == set(BROKEN) - {"little margin"}
    order = [WORST_FIRST.index(reason.verdict) for reason in verdict.reasons]
    assert order == sorted(order)


def test_boiling_is_never_a_pass_whatever_is_fitted():
    assert judge(replace(GOOD, first_boil_s=74.0, margin_k=0.0)).word == "do not light"


def judged(run):
    return judge(evidence(run, findings_on(run.loop, run.derived, TODAY, "si")))


def test_the_evidence_of_a_quiet_run():
    run = quiet_run()
    seen = evidence(run, findings_on(run.loop, run.derived, TODAY, "si"))
    assert seen.missing.keys() == {"nothing-prevents-boiling"}
    assert seen.last_phase == "standby"
    assert seen.outlet_thermometers == 2
    assert seen.quarter_boil_s == pytest.approx(7.16, abs=0.01)
    assert judged(run).word == "may be lit"


def test_the_evidence_ends_at_the_first_boil():
    run = dead_pump_run()
    run.causes.append(cause(1900.0, "C10", latched=True))
    run.phases.append((1950.0, "standby"))
    seen = evidence(run, findings_on(run.loop, run.derived, TODAY, "si"))
    assert seen.last_phase == "dry lock-out"
    assert "The coil is dry and hot." not in seen.latched + seen.rank_1
    assert seen.latched == ("The water stood for longer than the coil can bear.",)


def test_a_fault_without_effect_makes_the_run_worthless():
    run = dead_pump_run()
    run.faults_fired["pump-dies"] = False
    assert "fault never fired" in {reason.rule for reason in judged(run).reasons}
