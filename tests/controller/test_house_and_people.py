"""Rows about the house, the people in it, the board and the meter at rest."""

from __future__ import annotations

import pytest

from coilward.controller.interlocks import bit
from coilward.controller.phases import COLD_START, RUN, SHUTDOWN, STANDBY
from coilward.controller.state import NO, YES, after_reboot
from coilward.controller.types import Requests
from tests.controller.rig import NAN, Rig, constants_of, everything_fitted, healthy
from tests.controller.scenes import COLD_LOOP, cold_rig, declared_out, locked, run_obeyed

DRAWN_A = constants_of().power.pump_low_a

# --- C16, pulses with the pump off ---


def test_c16_a_meter_that_counts_still_water_takes_the_permission_back():
    rig = cold_rig().set(flow_lpm=0.5, pulse_age_s=0.05)
    rig.until(lambda r: "C16" in r.rows, 15.0)
    assert rig.latched == ["C16"]
    assert not rig.commands.pump
    assert rig.phase == "standby"
    rig.set(flow_lpm=0.0, pulse_age_s=100.0)
    run_obeyed(rig, 2.0, Requests(prepare=True))
    assert rig.phase == "standby"


def test_c16_withdraws_the_lamp_of_a_check_that_has_passed():
    rig = run_obeyed(cold_rig(), 1.0, Requests(prepare=True))
    run_obeyed(rig, 260.0)
    assert rig.commands.may_light
    rig.state = rig.state._replace(mode=rig.state.mode._replace(latched=bit("C16")))
    run_obeyed(rig, 0.5)
    assert not rig.commands.may_light
    assert rig.state.mode.phase == COLD_START


@pytest.mark.parametrize(
    "change",
    [
        {"flow_lpm": 0.3, "pulse_age_s": 0.05},
        {"flow_lpm": 0.5, "pulse_age_s": 0.05, "pump_contact": 1.0},
        {"flow_lpm": 0.5, "pulse_age_s": 0.05, "pump_a": DRAWN_A},
        {"flow_lpm": 0.5, "pulse_age_s": 0.05, "coil_outlet_a_c": 15.0},
    ],
)
def test_c16_asks_for_a_resting_pump_and_a_loop_that_cannot_circulate_by_itself(change):
    rig = cold_rig().set(**change).run(30.0)
    assert "C16" not in rig.rows


# --- C25, C27, C28: vent, carbon monoxide, smoke ---


def test_carbon_monoxide_and_smoke_sound_with_the_fire_out_and_start_nothing():
    for change, name in (({"co_ppm": 150.0}, "C27"), ({"smoke": 1.0}, "C28")):
        rig = Rig(everything_fitted(), STANDBY, NO).set(**COLD_LOOP).set(flow_lpm=0.0)
        rig.set(**change)
        rig.until(lambda r, n=name: n in r.rows, 15.0)
        rig.tick()
        assert rig.commands.horn == 3
        assert not rig.commands.pump
        assert rig.phase == "standby"
        assert rig.latched == [name]


def test_carbon_monoxide_ends_the_fire_and_leaves_the_water_moving():
    rig = Rig(everything_fitted()).settle().set(co_ppm=120.0)
    rig.until(lambda r: r.phase == "shutdown", 15.0)
    rig.tick()
    assert rig.commands.pump
    assert not rig.commands.damper_open


def test_what_is_not_fitted_says_nothing():
    rig = Rig().settle().set(co_ppm=500.0, smoke=1.0, vent_wet=1.0).run(60.0)
    assert rig.rows == []


@pytest.mark.parametrize(
    ("change", "lost", "name"),
    [
        ({"vent_wet": 1.0}, {"vent_wet": NAN}, "C25"),
        ({"co_ppm": 200.0}, {"co_ppm": NAN}, "C27"),
        ({"smoke": 1.0}, {"smoke": NAN}, "C28"),
        ({"constants_ok": 0.0}, {"constants_ok": NAN}, "C36"),
        ({"room_c": 41.0}, {"room_c": NAN}, "C38"),
        ({"radiator_outlet_c": 2.0}, {"radiator_outlet_c": NAN}, "C39"),
    ],
)
def test_a_reading_that_is_lost_clears_nothing(change, lost, name):
    rig = Rig(everything_fitted()).settle().set(**change)
    rig.until(lambda r: name in r.rows, 60.0)
    rig.set(**lost).run(30.0)
    assert rig.state.raised & bit(name)


# --- C35, damper ---


def test_c35_a_damper_that_stays_open_when_told_to_shut():
    rig = Rig().settle()
    rig.set(damper_shut=0.0).run(30.0)
    assert "C35" not in rig.rows
    rig.tick(Requests(finish=True))
    rig.until(lambda r: "C35" in r.rows, 10.0)
    assert rig.latched == ["C35"]
    rig.tick()
    assert rig.commands.dump_open
    assert rig.commands.valve == 1.0
    rig.set(damper_shut=NAN).run(10.0)
    assert rig.state.raised & bit("C35")


def test_c35_leaves_a_falling_damper_its_time_and_needs_its_switch():
    rig = Rig(phase=SHUTDOWN).set(damper_shut=0.0).run(4.5)
    rig.set(damper_shut=1.0).run(60.0)
    assert "C35" not in rig.rows
    constants = constants_of()
    unfitted = constants._replace(fitted=constants.fitted._replace(damper_switch=False))
    blind = Rig(unfitted, SHUTDOWN).set(damper_shut=0.0).run(60.0)
    assert "C35" not in blind.rows


# --- C36, whose constants ---


@pytest.mark.parametrize("known", [0.0, NAN])
def test_no_permission_on_constants_that_are_not_known_to_be_this_loops(known):
    rig = run_obeyed(cold_rig().set(constants_ok=known), 1.0, Requests(prepare=True))
    run_obeyed(rig, 260.0)
    assert rig.state.mode.phase == COLD_START
    assert not rig.commands.may_light
    run_obeyed(rig.set(constants_ok=1.0), 1.0)
    assert rig.commands.may_light


def test_no_permission_in_foul_air():
    rig = Rig(everything_fitted(), STANDBY, NO).set(**COLD_LOOP).set(flow_lpm=0.0, co_ppm=9.0)
    run_obeyed(run_obeyed(rig, 1.0, Requests(prepare=True)), 260.0)
    assert not rig.commands.may_light
    run_obeyed(rig.set(co_ppm=8.0), 1.0)
    assert rig.commands.may_light


# --- C38, C39: people, a freezing core ---


def test_c38_rests_the_fans_of_a_hot_room_but_not_those_that_the_loop_needs():
    rig = Rig().settle().set(room_c=40.5)
    rig.until(lambda r: r.phase == "overheat dump", 60.0)
    rig.tick()
    assert rig.commands.fans == 0.0
    assert rig.commands.dump_open
    rig.outlet(79.0).run(5.0)
    assert "C03" in rig.rows
    assert rig.commands.fans == 1.0
    rig.outlet(60.0).set(room_c=38.5).run(400.0)
    assert rig.phase == "overheat dump"
    assert rig.commands.fans == 0.0
    rig.set(room_c=37.5).run(310.0)
    assert rig.phase == "run"


def test_c38_of_a_tub_is_its_water():
    constants = constants_of("hot-tub")
    limit_c = constants.limits.people_c
    assert limit_c <= 41.0
    rig = Rig(constants).set(tank_c=limit_c + 0.1, radiator_outlet_c=NAN, fan_a=NAN)
    rig.until(lambda r: "C38" in r.rows, 60.0)
    cool = Rig(constants).set(tank_c=limit_c - 0.1, room_c=45.0).run(60.0)
    assert "C38" not in cool.rows


def test_c39_rests_the_fans_over_a_freezing_core_until_it_is_warmer():
    rig = Rig().settle().set(radiator_outlet_c=2.5)
    rig.until(lambda r: "C39" in r.rows, 20.0)
    rig.tick()
    assert rig.commands.fans == 0.0
    assert rig.commands.pump
    rig.set(radiator_outlet_c=4.5).run(30.0)
    assert rig.commands.fans == 0.0
    rig.set(radiator_outlet_c=5.5).run(1.0)
    assert rig.commands.fans == 1.0
    assert rig.phase == "run"
    still = Rig().set(radiator_inlet_c=10.0).run(1.0).set(radiator_outlet_c=2.5).run(30.0)
    assert still.commands.fans == 0.0
    assert "C39" not in still.rows
    bare = constants_of()._replace(fitted=constants_of().fitted._replace(radiator_outlet=False))
    assert "C39" not in Rig(bare).set(radiator_outlet_c=2.5).run(30.0).rows


# --- C40, reboots ---


def reboot(rig: Rig, outage_s: float = 1.0) -> Rig:
    rig.state = after_reboot(rig.state)
    return rig.set(outage_s=outage_s)


def test_c40_the_third_reboot_within_ten_minutes_ends_the_fire():
    rig = Rig().settle()
    for count in (1, 2, 3):
        assert "C40" not in rig.rows
        reboot(rig).run(60.0)
        assert rig.commands.pump, count
    assert "C40" in rig.latched
    assert rig.phase == "shutdown"


def test_c40_counts_the_time_that_the_board_was_away():
    rig = Rig().settle()
    reboot(rig).run(60.0)
    reboot(rig).run(60.0)
    reboot(rig, outage_s=600.0).run(5.0)
    assert "C40" not in rig.rows
    assert rig.state.ages.reboot_2_s > 660.0
    assert rig.state.ages.reboot_1_s < 6.0


# --- resets of the dry lock-out ---


def reset_dry(rig: Rig, key: bool = False) -> Rig:
    declared_out(rig)
    rig.run(1.0)
    return rig.run(3.0, Requests(reset=True, key=key))


def test_a_third_dry_lock_out_within_a_day_needs_the_key():
    rig = locked()
    for _ in range(2):
        reset_dry(rig)
        assert rig.phase == "standby"
        stored = rig.state.ages
        rig = locked()
        rig.state = rig.state._replace(
            ages=rig.state.ages._replace(
                dry_reset_1_s=stored.dry_reset_1_s, dry_reset_2_s=stored.dry_reset_2_s
            )
        )
    kept = after_reboot(rig.state).ages
    assert kept.dry_reset_2_s == rig.state.ages.dry_reset_2_s < 60.0
    reset_dry(rig)
    assert rig.phase == "dry lock-out"
    rig.run(1.0)
    reset_dry(rig, key=True)
    assert rig.visited[-2:] == ["standby", "maintenance"]


def test_a_dry_lock_out_of_yesterday_no_longer_counts():
    rig = locked()
    ages = rig.state.ages._replace(dry_reset_1_s=600.0, dry_reset_2_s=24.0 * 3600.0)
    rig.state = rig.state._replace(ages=ages)
    reset_dry(rig)
    assert rig.phase == "standby"


def test_healthy_means_every_row_is_silent_with_everything_fitted():
    rig = Rig(everything_fitted(), RUN, YES).settle(1200.0)
    assert rig.rows == []
    assert healthy(rig.constants).constants_ok == 1.0
