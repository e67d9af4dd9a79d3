"""Fire and coil: the check, warm-up, burn-out, the refill window, retries, witnesses."""

from __future__ import annotations

import pytest

from coilward.controller import prelight
from coilward.controller.phases import (
    DEGRADED,
    DUMP,
    RUN,
    SHUTDOWN,
    WARM_UP,
)
from coilward.controller.state import (
    AT_RISK,
    NO,
    WET,
    YES,
)
from coilward.controller.types import Requests
from tests.controller.rig import NAN, Rig, changed, constants_of
from tests.controller.scenes import (
    cold_rig,
    deafen,
    obey,
    run_obeyed,
)

# --- the check before a fire ---


def test_a_healthy_loop_may_be_lit_after_four_minutes():
    rig = run_obeyed(cold_rig(), 5.0)
    assert rig.phase == "standby"
    assert not rig.commands.pump
    run_obeyed(rig, 0.25, Requests(prepare=True))
    assert rig.phase == "cold start"
    run_obeyed(rig, 239.0)
    assert not rig.commands.may_light
    run_obeyed(rig, 3.0)
    assert rig.commands.may_light
    assert prelight.missing(rig.state.control.passed) == []
    run_obeyed(rig, 0.25, Requests(lit=True))
    assert rig.phase == "warm-up"
    assert rig.commands.damper_open
    assert "C34" not in rig.rows


@pytest.mark.parametrize(
    ("change", "check"),
    [
        ({"supply_v": 12.0}, "battery"),
        ({"level_low": 1.0}, "level"),
        ({"level_low_low": NAN}, "level"),
        ({"coil_outlet_b_c": 11.0}, "thermometers"),
        ({"coil_outlet_a_c": 11.0}, "thermometers"),
        ({"tank_c": NAN}, "thermometers"),
        ({"radiator_inlet_c": NAN}, "thermometers"),
        ({"radiator_outlet_c": 20.0}, "thermometers"),
        ({"line_min_c": 1.5}, "lines"),
        ({"line_min_c": NAN}, "lines"),
    ],
)
def test_one_failed_check_keeps_the_lamp_dark_and_says_why(change, check):
    rig = cold_rig().set(**change)
    run_obeyed(rig, 0.25, Requests(prepare=True))
    run_obeyed(rig, 300.0)
    words = dict(prelight.CHECKS)[check]
    assert prelight.missing(rig.state.control.passed) == [words]
    assert not rig.commands.may_light
    run_obeyed(rig, 1600.0)
    assert rig.phase in ("standby", "freeze guard")


@pytest.mark.parametrize(
    ("name", "check"),
    [("fan_a", "fans"), ("damper_shut", "damper opens"), ("flow_switch", "flow switch")],
)
def test_an_output_that_does_not_answer_fails_its_check(name, check):
    rig = cold_rig()
    stuck = {"fan_a": 0.0, "damper_shut": 1.0, "flow_switch": 0.0}[name]
    rig.tick(Requests(prepare=True))
    for _ in range(1200):
        obey(rig)
        rig.set(**{name: stuck})
        rig.tick()
    assert dict(prelight.CHECKS)[check] in prelight.missing(rig.state.control.passed)


def test_a_check_can_be_called_off_and_a_latch_refuses_it():
    rig = cold_rig()
    run_obeyed(rig, 0.25, Requests(prepare=True))
    run_obeyed(rig, 10.0)
    run_obeyed(rig, 0.25, Requests(finish=True))
    assert rig.phase == "standby"
    rig.run(0.5, Requests(emergency=True))
    run_obeyed(rig, 1.0, Requests(prepare=True))
    assert rig.phase == "standby"


def test_lighting_before_the_lamp_is_heat_without_permission():
    rig = cold_rig()
    run_obeyed(rig, 0.25, Requests(prepare=True))
    run_obeyed(rig, 20.0)
    run_obeyed(rig, 0.25, Requests(lit=True))
    run_obeyed(rig, 12.0)
    assert "C34" in rig.rows
    assert rig.phase == "shutdown"
    assert rig.commands.pump


# --- warm-up, run, burn-out ---


def test_warm_up_becomes_run_when_the_outlet_is_warm():
    rig = Rig(phase=WARM_UP).set(coil_outlet_a_c=30.0, coil_outlet_b_c=30.0, tank_c=25.0)
    rig.run(30.0)
    assert rig.phase == "warm-up"
    rig.outlet(36.0).run(2.0)
    assert rig.phase == "run"


def test_no_heat_ends_warm_up_and_run():
    for phase, minutes in ((WARM_UP, 45.0), (RUN, 30.0), (DEGRADED, 30.0)):
        rig = Rig(phase=phase).set(coil_outlet_a_c=23.2, coil_outlet_b_c=23.2)
        rig.set(radiator_inlet_c=22.9)
        if phase == DEGRADED:
            deafen(rig)
        rig.run(60.0 * minutes - 10.0)
        assert rig.visited[-1] == rig.visited[0]
        rig.run(25.0)
        assert rig.phase == "shutdown"


def test_finish_leads_to_shutdown_and_burn_out_needs_time():
    rig = Rig().settle()
    rig.tick(Requests(finish=True))
    assert rig.phase == "shutdown"
    assert rig.commands.pump
    assert not rig.commands.damper_open
    rig.set(coil_outlet_a_c=23.5, coil_outlet_b_c=23.5, flue_c=40.0, coil_metal_c=30.0)
    rig.run(3590.0)
    assert rig.phase == "shutdown"
    rig.run(60.0)
    assert rig.phase == "standby"
    assert not rig.commands.pump


@pytest.mark.parametrize("witness", [{"flue_c": 70.0}, {"coil_metal_c": 101.0}, {"flue_c": NAN}])
def test_a_witness_of_heat_keeps_the_fire_from_being_out(witness):
    rig = Rig(phase=SHUTDOWN).set(coil_outlet_a_c=23.5, coil_outlet_b_c=23.5)
    rig.set(flue_c=40.0, coil_metal_c=30.0).set(**witness)
    rig.run(5000.0)
    assert rig.phase == "shutdown"


def test_the_tub_finishes_by_itself():
    rig = Rig(constants_of("hot-tub"), RUN).set(coil_outlet_a_c=45.0, coil_outlet_b_c=45.0)
    rig.set(tank_c=37.0).run(30.0)
    assert rig.phase == "run"
    assert rig.commands.valve == 1.0
    rig.set(tank_c=rig.constants.limits.tank_finish_c + 0.1).run(1.0)
    assert rig.phase == "shutdown"


def test_fans_wait_for_warm_water_and_rest_when_the_room_is_warm():
    rig = Rig(phase=WARM_UP).set(radiator_inlet_c=39.0, tank_c=27.0)
    rig.set(coil_outlet_a_c=30.0, coil_outlet_b_c=30.0).run(1.0)
    assert rig.commands.fans == 0.0
    rig.set(radiator_inlet_c=41.0).run(1.0)
    assert rig.commands.fans == 1.0
    rig.set(radiator_inlet_c=36.0).run(1.0)
    assert rig.commands.fans == 1.0
    rig.set(radiator_inlet_c=34.0).run(1.0)
    assert rig.commands.fans == 0.0
    limits = constants_of().limits._replace(not_over_c=20.0)
    warm = Rig(changed(constants_of(), limits=limits)).set(room_c=21.0).run(10.0)
    assert warm.commands.fans == 0.0
    warm.set(tank_c=50.0).run(1.0)
    assert warm.commands.fans == 1.0


def test_a_dump_ends_after_five_cool_minutes():
    rig = Rig().settle().set(tank_c=60.0)
    rig.until(lambda r: r.phase == "overheat dump", 10.0)
    rig.set(tank_c=50.0).run(290.0)
    assert rig.phase == "overheat dump"
    rig.run(20.0)
    assert rig.phase == "run"


def test_a_dump_with_a_latch_ends_in_shutdown():
    rig = Rig(phase=DUMP).run(1.0)
    rig.state = rig.state._replace(mode=rig.state.mode._replace(latched=1))
    rig.run(310.0)
    assert rig.phase == "shutdown"


# --- water stops ---


def test_a_short_stall_is_retried_and_forgiven_once():
    rig = Rig().settle().stop_water()
    rig.until(lambda r: r.phase == "no-flow fault", 2.0)
    offs = 0
    was = True
    for _ in range(24):
        rig.tick()
        offs += was and not rig.commands.pump
        was = rig.commands.pump
    assert 1 <= offs <= rig.constants.water.retries
    rig.start_water()
    rig.until(lambda r: r.phase == "run", 8.0)
    assert rig.state.mode.coil == WET
    assert rig.latched == []


def test_no_retry_while_one_witness_says_that_the_pump_runs():
    rig = Rig().settle().stop_water("as before")
    rig.until(lambda r: r.phase == "no-flow fault", 2.0)
    for _ in range(30):
        rig.tick()
        assert rig.commands.pump or rig.phase == "dry lock-out"


def test_good_pulses_stop_the_window_and_a_failed_proof_resumes_it():
    rig = Rig().settle().stop_water()
    rig.until(lambda r: r.state.ages.still_s > 6.0, 10.0)
    rig.start_water().run(3.0)
    held_s = rig.state.ages.still_s
    assert held_s == pytest.approx(6.25, abs=0.6)
    assert rig.phase == "no-flow fault"
    rig.stop_water().run(2.0)
    assert rig.state.ages.still_s == pytest.approx(held_s + 2.0, abs=0.3)
    rig.until(lambda r: r.phase == "dry lock-out", 60.0)


def test_the_hot_slug_after_a_restart_is_muted_but_not_at_high_high():
    rig = Rig().settle().stop_water()
    rig.until(lambda r: r.state.ages.still_s > 4.0, 10.0)
    rig.start_water()
    rig.until(lambda r: r.phase == "run", 10.0)
    dump_c = rig.constants.limits.outlet_dump_c
    rig.set(coil_outlet_a_c=dump_c + 3.0, coil_outlet_b_c=dump_c + 3.0).run(5.0)
    assert rig.phase == "run"
    hh_c = rig.constants.limits.outlet_hh_c
    rig.set(coil_outlet_a_c=hh_c + 1.0, coil_outlet_b_c=hh_c + 1.0).run(1.0)
    assert rig.phase == "shutdown"


def test_returns_to_where_it_came_from_or_ends():
    for phase, expected in ((WARM_UP, "warm-up"), (DUMP, "overheat dump"), (SHUTDOWN, "shutdown")):
        rig = Rig(phase=phase).set(coil_outlet_a_c=30.0, coil_outlet_b_c=30.0)
        rig.run(1.0).stop_water()
        rig.until(lambda r: r.phase == "no-flow fault", 4.0)
        rig.start_water().until(lambda r: r.phase != "no-flow fault", 10.0)
        assert rig.phase == expected
    low = Rig().settle().stop_water()
    low.until(lambda r: r.phase == "no-flow fault", 4.0)
    low.start_water().set(level_low_low=NAN)
    low.until(lambda r: r.phase == "shutdown", 10.0)


def test_metal_that_glows_behind_a_lying_meter_ends_in_the_lock_out():
    rig = Rig().settle().stop_water("as before").set(flow_switch=0.0)
    rig.until(lambda r: r.phase == "no-flow fault", 4.0)
    assert rig.commands.dump_open
    rig.set(coil_metal_c=rig.constants.limits.metal_high_c + 2.0).run(0.5)
    assert rig.phase == "dry lock-out"


def test_all_witnesses_missing_never_stop_the_pump():
    rig = Rig().settle()
    rig.set(flow_lpm=NAN, pulse_age_s=NAN, pump_a=NAN, flow_switch=NAN, coil_metal_c=NAN)
    rig.set(radiator_outlet_c=NAN).run(300.0)
    assert rig.phase == "no-flow fault"
    assert rig.commands.pump
    assert rig.state.mode.coil == AT_RISK


def test_the_radiator_is_a_witness_only_where_it_can_be_one():
    """Rule 13: a core thermometer in the air stream, fans up for a minute, 10 K over the room."""
    fitted = constants_of().fitted._replace(switch=False)
    water = constants_of().water._replace(rule13_s=12.0)
    constants = constants_of()._replace(fitted=fitted, water=water)
    rig = Rig(constants).settle().set(flow_lpm=0.0, pulse_age_s=100.0)
    rig.until(lambda r: r.phase == "degraded run", 20.0)
    rig.run(600.0)
    assert rig.phase == "degraded run"
    fallen = Rig(constants).settle().set(flow_lpm=0.0, pulse_age_s=100.0).run(3.0)
    fallen.set(radiator_outlet_c=18.0)
    fallen.until(lambda r: r.phase == "dry lock-out", 60.0)
    blind = constants._replace(water=water._replace(rule13_s=float("inf")))
    alone = Rig(blind).settle().set(flow_lpm=0.0, pulse_age_s=100.0)
    alone.until(lambda r: r.phase == "dry lock-out", 60.0)


def test_a_suspect_current_is_outvoted_by_pulses_and_a_second_proof():
    rig = Rig().settle().set(pump_a=0.0).run(20.0)
    assert rig.commands.pump
    assert rig.state.mode.coil == WET
    assert rig.state.ages.still_s == 0.0
    assert rig.visited == ["run", "no-flow fault", "run"]
    assert rig.latched == []
    rig.stop_water("open")
    rig.until(lambda r: r.phase == "no-flow fault", 2.0)


def test_the_pump_that_dies_leads_to_one_fault_and_no_way_back():
    rig = Rig().settle().set(pump_a=0.0)
    for flow in (4.0, 3.0, 2.0, 1.2):
        rig.set(flow_lpm=flow).run(0.25)
    rig.stop_water("open").run(60.0)
    assert rig.visited == ["run", "no-flow fault", "dry lock-out"]


def test_a_loop_without_current_or_metal_goes_by_pulses():
    fitted = constants_of().fitted._replace(current=False, metal=False, flue=False, level=False)
    rig = Rig(constants_of()._replace(fitted=fitted)).settle().set(pump_a=NAN, coil_metal_c=NAN)
    rig.set(level_low=NAN, level_low_low=NAN).run(30.0)
    assert rig.rows == []
    rig.stop_water().until(lambda r: r.phase == "dry lock-out", 60.0)
    rig.run(1.0, Requests(declare_out=True))
    assert rig.state.mode.fire == YES
    rig.run(4.0 * 3600.0)
    rig.run(0.5, Requests(declare_out=True))
    assert rig.state.mode.fire == NO
    rig.run(2.5, Requests(reset=True))
    assert rig.phase == "standby"


def test_a_gap_in_time_counts_against_the_coil():
    rig = Rig().settle().stop_water().run(1.5)
    before_s = rig.state.ages.still_s
    rig.time_s += 5.0
    rig.tick()
    assert rig.state.ages.still_s == pytest.approx(before_s + 5.25, abs=0.3)


def test_an_outlet_that_flickers_about_its_warning_does_not_chatter_the_dump():
    warn_c = Rig().readings.coil_outlet_a_c
    limits = constants_of().limits._replace(outlet_warn_c=warn_c)
    rig = Rig(changed(constants_of(), limits=limits), phase=SHUTDOWN)
    opened_s, shut_s = [], []
    for k in range(1200):
        outlet_c = warn_c + (0.4 if k // 8 % 2 else -0.4)
        was = rig.commands.dump_open
        rig.set(coil_outlet_a_c=outlet_c, coil_outlet_b_c=outlet_c).tick()
        if rig.commands.dump_open != was:
            (opened_s if rig.commands.dump_open else shut_s).append(rig.time_s)
    assert len(opened_s) >= 3
    assert all(after - before >= 60.0 for before, after in zip(opened_s, shut_s, strict=False))


def test_the_refill_window_of_a_fire_that_has_just_begun_reckons_with_the_largest():
    """Half of C_coil (T_b - T_out) / (phi Q), Q the largest heat; half of that once it is known."""
    for phase, before_w, share in ((WARM_UP, 100.0, 1.0), (RUN, 0.0, 1.0), (RUN, 100.0, 0.5)):
        rig = Rig(phase=phase)
        rig.state = rig.state._replace(watch=rig.state.watch._replace(heat_before_w=before_w))
        outlet_c = rig.readings.tank_c + 3.0
        rig.set(coil_outlet_a_c=outlet_c, coil_outlet_b_c=outlet_c, radiator_inlet_c=outlet_c)
        rig.settle(5.0).set(pump_a=0.0).run(1.5)
        assert rig.phase == "no-flow fault"
        water, limits = rig.constants.water, rig.constants.limits
        due_s = water.coil_j_k * (limits.boil_c - outlet_c) / (
            2.0 * water.peak_to_mean * share * water.heat_largest_w
        )
        assert rig.state.ages.window_s == pytest.approx(due_s, rel=1e-9)


def test_no_retry_with_an_outlet_at_its_dump_trip():
    for over_k, offs in ((-1.0, True), (0.5, False)):
        rig = Rig().settle()
        outlet_c = rig.constants.limits.outlet_dump_c + over_k
        rig.set(coil_outlet_a_c=outlet_c, coil_outlet_b_c=outlet_c).run(2.5)
        rig.stop_water()
        rig.until(lambda r: r.phase == "no-flow fault", 3.0)
        seen = [not rig.commands.pump]
        for _ in range(8):
            rig.tick()
            seen.append(not rig.commands.pump)
        assert any(seen) == offs


@pytest.mark.parametrize(("flow_lpm", "tells"), [(0.8, True), (1.2, False)])
def test_a_pulse_that_is_overdue_says_how_little_flows(flow_lpm, tells):
    """345 pulses a litre: at 1 L/min the next one comes within 0.174 s, whatever was counted."""
    overdue_s = 60.0 / (345.0 * flow_lpm)
    rig = Rig().settle(30.0).set(flow_lpm=5.0, pulse_age_s=overdue_s).run(3.0)
    assert ("C01" in rig.rows) == tells


@pytest.mark.parametrize(("window_s", "tried"), [(3.5, False), (14.0, True)])
def test_a_retry_that_would_outlast_the_window_is_not_begun(window_s, tried):
    """One takes 3.5 s, and some time has passed before it is seen that the water stands."""
    usual = constants_of()
    assert usual.water.retries > 0
    rig = Rig(usual._replace(water=usual.water._replace(window_cap_s=window_s)))
    rig.settle().stop_water()
    rested = False
    for _ in range(100):
        rig.tick()
        if rig.phase == "dry lock-out":
            break
        rested = rested or not rig.commands.pump
    assert rig.phase == "dry lock-out"
    assert rested == tried
