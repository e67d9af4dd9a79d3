"""The one sentence, and the hardware that would have helped."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import pytest

from coilward.desk.answer import answer, retries
from coilward.desk.passive import hardware
from coilward.loop.derived import passive_now
from coilward.loop.model import Device
from tests.desk.synthetic import TODAY, cause, dead_pump_run, quiet_run


def changed(run, **changes):
    return SimpleNamespace(**{**vars(run), **changes})


def with_passive(run, **devices):
    """The same run on a loop with other passive hardware."""
    loop = run.loop.model_copy(
        update={"passive": run.loop.passive.model_copy(update=devices)}
    )
    derived = replace(run.derived, passive=passive_now(loop, TODAY))
    return changed(run, loop=loop, derived=derived)


def test_a_quiet_night_in_one_sentence():
    assert answer(quiet_run(), "si") == (
        "The night runs for 8 h 00 min with nothing broken: no alarm comes; "
        "the hottest water stays 24.3 K under boiling."
    )


def test_a_dead_pump_in_one_sentence():
    assert answer(dead_pump_run(), "si") == (
        "At 30 min the pump stops and stays stopped: the machine sees it by flow after 1.2 s, "
        "tries the pump twice and locks the pump off after 34 s; the coil boils after 74 s, "
        "because nothing fitted carries the fire's heat without the pump."
    )


def test_the_units_asked_for_are_used():
    assert "43.7 F° under boiling" in answer(quiet_run(), "us")


def test_a_fault_that_raises_no_alarm():
    run = changed(dead_pump_run(), causes=[], phases=[(0.0, "run")], first_boil_s=None)
    run.margins.boil_k = 30.0
    assert "no alarm comes; the hottest water stays 30.0 K" in answer(run, "si")


def test_a_cause_before_the_fault_is_not_how_it_was_seen():
    run = dead_pump_run()
    run = changed(run, causes=[cause(60.0, "C33"), *run.causes])
    assert "sees it by flow after 1.2 s" in answer(run, "si")


def test_an_alarm_without_a_fault_is_told_with_its_time():
    run = changed(quiet_run(), causes=[cause(7200.0, "C03", first_out=True)])
    assert 'sees "outlet at its dump trip" at 2 h 00 min' in answer(run, "si")


def test_boiling_with_the_water_moving_has_another_reason():
    run = dead_pump_run()
    run.trace["flow_true_lpm"][:] = 6.0
    assert "because the fire gives more heat than the moving water can carry" in answer(run, "si")


def test_what_the_machine_does_after_the_first_boil_is_no_help():
    run = dead_pump_run()
    late = changed(
        run, causes=[cause(1900.0, "C12")], phases=[(0.0, "run"), (1900.0, "dry lock-out")]
    )
    late.trace["pump_cmd"][:] = 1.0
    assert "the machine does nothing in time; the coil boils after 74 s" in answer(late, "si")


def test_what_it_did_and_saw_is_told_in_order_of_time():
    phases = [(0.0, "standby"), (60.0, "freeze guard")]
    run = changed(quiet_run(), causes=[cause(9000.0, "C26")], phases=phases)
    assert answer(run, "si").index("guards the lines") < answer(run, "si").index("degC")


def test_only_retries_in_the_no_flow_fault_count():
    run = dead_pump_run()
    assert retries(run, 0.0) == 2
    run.trace["pump_cmd"][100] = 0.0  # in run: some other reason
    assert retries(run, 0.0) == 2


def fitted(run):
    return {each.words: each for each in hardware(run).fitted}


def test_a_vent_that_lets_the_steam_out_does_not_prevent_boiling():
    block = hardware(dead_pump_run())
    assert not block.prevents
    assert block.about == "For what happened: the water stood with a fire in."
    assert fitted(dead_pump_run())["open vent"].counts
    assert "only lets the steam out" in block.conclusion
    assert "neither is counted as a pass" in block.conclusion


def test_a_pump_battery_does_not_help_a_dead_pump():
    """It is fitted and proven in this loop, and not even listed against a dead pump."""
    run = dead_pump_run()
    assert {"pump_battery", "no_volt_release"} <= run.derived.passive
    assert not any("battery behind the pump" in words for words in fitted(run))


def supply_lost_run():
    run = dead_pump_run()
    night = run.night.model_copy(
        update={"moment": [run.night.moment[0].model_copy(update={"fault": "supply-lost"})]}
    )
    return changed(run, night=night, causes=[cause(1801.0, "C12")], first_boil_s=None)


def test_a_pump_battery_with_its_release_helps_when_only_the_supply_is_lost():
    run = supply_lost_run()
    assert hardware(run).prevents
    assert not hardware(with_passive(run, no_volt_release=None)).prevents


QUENCH = Device(proven=date(2026, 10, 1), carries_kw=18.0)


@pytest.mark.parametrize(
    ("quench", "helps", "state"),
    [
        (QUENCH, True, "proven 2026-10-01"),
        (None, False, "not fitted"),
        (QUENCH.model_copy(update={"carries_kw": 17.9}), False,
         "carries less than the largest fire"),
        (QUENCH.model_copy(update={"carries_kw": None}), False,
         "carries less than the largest fire"),
        (QUENCH.model_copy(update={"proven": date(2025, 1, 1)}), False,
         "proof of 2025-01-01 does not hold"),
    ],
)  # fmt: skip
def test_a_quench_coil_counts_only_if_proven_and_large_enough(quench, helps, state):
    run = with_passive(changed(dead_pump_run(), first_boil_s=None), quench_coil=quench)
    assert hardware(run).prevents is helps
    assert fitted(run)["quench coil for the whole fire"].state == state


def test_hardware_that_should_have_prevented_boiling_and_did_not_is_said_so():
    run = with_passive(dead_pump_run(), quench_coil=QUENCH)
    assert "did not prevent it here" in hardware(run).conclusion
    assert "did not hold it" in answer(run, "si")


def test_a_quiet_night_asks_what_if_the_water_stood():
    assert hardware(quiet_run()).about.startswith("If it ever happened that the water stood")
