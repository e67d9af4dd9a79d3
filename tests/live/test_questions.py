"""May I add wood, may I go to bed: every answer with the reason that it should have."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from coilward.controller.interlocks import bit
from coilward.controller.phases import (
    BOOT,
    COLD_START,
    DEGRADED,
    DRY,
    DUMP,
    FREEZE,
    MAINTENANCE,
    NO_FLOW,
    SHUTDOWN,
    STANDBY,
)
from coilward.controller.state import NO
from coilward.desk.live.bed import bed, falls_in_s, pump_may_stop
from coilward.desk.live.slopes import Slopes
from coilward.desk.live.wood import needed_lpm, wood
from tests.controller.rig import Rig, constants_of
from tests.controller.scenes import cold_rig
from tests.live.scenes import STEADY, place, running, scene
from tests.live.test_sentence import changed


def reading(rig, **changes):
    rig.given = rig.given._replace(**changes)
    if "coil_outlet_a_c" in changes:
        seen_c = changes["coil_outlet_a_c"]
        rig.state = rig.state._replace(
            watch=rig.state.watch._replace(outlet_a_c=seen_c, outlet_b_c=seen_c)
        )
    return rig


def test_a_loop_that_runs_well_takes_wood():
    said = wood(scene(running()))
    assert said.word == "yes"
    # Trip of the greenhouse's tank 59.8 degC, tank at 23.
    assert "37 K under its trip" in said.reason


@pytest.mark.parametrize(("phase", "reason"), [
    (DRY, "may be dry"), (NO_FLOW, "water stands"), (DUMP, "shedding heat"),
    (DEGRADED, "instrument is lost"), (SHUTDOWN, "ending"), (BOOT, "without the check"),
    (COLD_START, "check is not over"), (STANDBY, "without the check"),
])  # fmt: skip
def test_no_wood_in_any_other_phase(phase, reason):
    said = wood(scene(changed(running(), phase=phase)))
    assert said.word == "no"
    assert reason in said.reason


@pytest.mark.parametrize("row", ["C29", "C05", "C27"])
def test_no_wood_while_an_alarm_counts_and_the_reason_is_the_alarm(row):
    said = wood(scene(changed(running(), raised=bit(row))))
    assert said.word == "no"
    assert said.reason.endswith(".")
    latched = wood(scene(changed(running(), latched=bit(row))))
    assert latched == said


def test_a_passed_check_may_be_lit():
    assert wood(scene(changed(cold_rig().run(1.0), phase=COLD_START, permitted=True))).word == "yes"


def test_a_warm_tank_says_how_long_to_wait():
    warn_c = place().constants.limits.tank_warn_c
    hot = reading(running(), tank_c=warn_c + 2.0, coil_outlet_a_c=70.0, coil_outlet_b_c=70.0)
    cooling = STEADY._replace(tank_k_s=-2.0 / 600)
    assert wood(scene(hot, cooling)).word == "wait"
    assert wood(scene(hot, cooling)).reason.startswith("10 min: the tank has to cool under 55")
    assert wood(scene(hot)).reason.startswith("The tank has to cool under")


def test_a_warm_outlet_is_waited_for():
    hot = reading(running(), tank_c=40.0, coil_outlet_a_c=75.0, coil_outlet_b_c=75.0)
    said = wood(scene(hot, STEADY._replace(outlet_k_s=-0.01)))
    assert said.word == "wait"
    assert "outlet has to cool" in said.reason


def test_a_strong_fire_needs_no_wood_yet():
    rig = reading(running(), tank_c=18.0, coil_outlet_a_c=68.0, coil_outlet_b_c=68.0)
    now = scene(rig, STEADY._replace(heat_w_s=-5.0))
    assert now.heat_w > 1.1 * 12000
    assert wood(now).word == "wait"
    assert "min: the fire is" in wood(now).reason


def test_it_waits_where_the_largest_fire_would_need_more_than_the_loop_gives():
    weak = place().constants.water._replace(open_lpm=needed_lpm(scene(running())) - 0.1)
    where = replace(place(), constants=place().constants._replace(water=weak))
    assert wood(scene(running(), where=where)).word == "wait"


@pytest.mark.parametrize("lost", [
    {"tank_c": math.nan, "radiator_outlet_c": math.nan},
    {"coil_outlet_a_c": math.nan, "coil_outlet_b_c": math.nan},
])  # fmt: skip
def test_nothing_is_allowed_by_a_reading_that_is_lost(lost):
    rig = running()
    rig.given = rig.given._replace(**lost)
    assert wood(scene(rig)).word == "no"


def test_a_tub_that_gets_warm_enough_takes_none():
    rig = Rig(constants_of("hot-tub")).set(tank_c=38.5, coil_outlet_a_c=50.0, coil_outlet_b_c=50.1)
    rig.tick()
    said = wood(scene(rig, where=place("hot-tub")))
    assert said.word == "no"


def test_bed_only_when_everything_is_over():
    assert bed(scene(cold_rig().run(1.0))).word == "yes"
    assert "horn" in bed(scene(cold_rig().run(1.0))).reason


@pytest.mark.parametrize(("phase", "fire"), [
    (phase, fire) for phase in range(12) for fire in (0, 1, 2)
])  # fmt: skip
def test_no_bed_while_a_fire_may_be_in_or_anything_is_not_at_rest(phase, fire):
    word = bed(scene(changed(cold_rig().run(1.0), phase=phase, fire=fire))).word
    assert word == ("yes" if fire == NO and phase in (STANDBY, FREEZE) else "no")


@pytest.mark.parametrize("changes", [
    {"latched": bit("C16")}, {"raised": bit("C26")}, {"dry": True}, {"phase": MAINTENANCE},
])  # fmt: skip
def test_no_bed_with_anything_open(changes):
    assert bed(scene(changed(cold_rig().run(1.0), **changes))).word == "no"


def test_the_pump_may_stop_after_the_evidence_of_a_burnt_out_fire():
    """The burn-out evidence: an hour after the last 2 K, half an hour under 1 K."""
    rig = changed(running(), phase=SHUTDOWN)
    now = scene(rig)
    decay_s = 60.0 * place().loop.fire.decay_min
    rise_k = now.now.rise_k
    two_s, one_s = (decay_s * math.log(rise_k / to_k) for to_k in (2.0, 1.0))
    assert pump_may_stop(now) == pytest.approx(max(two_s + 3600, one_s + 1800))
    reading(rig, coil_outlet_a_c=23.3, coil_outlet_b_c=23.3, tank_c=23.0)
    rig.state = rig.state._replace(ages=rig.state.ages._replace(heat_s=3000.0, cold_s=600.0))
    assert pump_may_stop(scene(rig)) == pytest.approx(1200.0, abs=1.0)
    assert "20 min" in bed(scene(rig)).reason


def test_what_is_not_known_is_said_to_be():
    assert math.isnan(falls_in_s(math.nan, 1.0, 600.0))
    rig = running()
    rig.given = rig.given._replace(coil_outlet_a_c=math.nan, coil_outlet_b_c=math.nan)
    assert "not known" in bed(scene(rig, Slopes())).reason
