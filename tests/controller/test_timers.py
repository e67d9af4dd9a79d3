"""How long things last, to the tick, and what each clock of the state does in one."""

from __future__ import annotations

import pytest

from coilward.controller.decide import decide
from coilward.controller.interlocks import EVERY_ROW, LAST_ROW, names
from coilward.controller.latching import first_of
from coilward.controller.phases import (
    BOOT,
    DEGRADED,
    DUMP,
    FREEZE,
    NO_FLOW,
    PHASES,
    RUN,
    SHUTDOWN,
    STANDBY,
    WARM_UP,
)
from coilward.controller.state import MAYBE_DRY, NO, UNKNOWN, YES, after_reboot, first_state
from coilward.controller.types import Requests
from tests.controller.rig import NAN, Rig, constants_of, healthy
from tests.controller.scenes import cold_rig, declared_out, locked

TICK_S = constants_of().tick_s
FINISH = Requests(finish=True)
CLOCKS = {
    "phase_s": 11.0, "dump_1_s": 4000.0, "dump_2_s": 5000.0, "dump_3_s": 6000.0,
    "dump_4_s": 7000.0, "flow_return_s": 8000.0, "reboot_1_s": 9000.0, "reboot_2_s": 10000.0,
    "reboot_3_s": 11000.0, "dry_reset_1_s": 12000.0, "dry_reset_2_s": 13000.0,
}


def clocked(phase=RUN, fire=YES):
    """A state whose clocks all stand at different times."""
    state = first_state(constants_of(), phase, fire)
    return state._replace(ages=state.ages._replace(**CLOCKS))


def next_ages(state, **changes):
    readings = healthy(constants_of())._replace(**changes)
    return decide(readings, Requests(), state, constants_of()).state.ages._asdict()


def test_every_clock_goes_on_by_one_tick():
    ages = next_ages(clocked())
    assert {name: ages[name] for name in CLOCKS} == {
        name: value + TICK_S for name, value in CLOCKS.items()
    }


@pytest.mark.parametrize(("phase_s", "outage_s", "ran_s"), [
    (0.0, 90.0, 90.0 + TICK_S), (0.0, 0.5, 0.5 + TICK_S), (0.0, 0.0, TICK_S),
    (0.0, -0.5, TICK_S), (0.0, -5.0, TICK_S), (0.0, NAN, TICK_S), (1.0, 90.0, TICK_S),
    (TICK_S, 0.5, TICK_S), (-1.0, 90.0, TICK_S),
])  # fmt: skip
def test_the_first_tick_of_a_boot_counts_the_time_without_power(phase_s, outage_s, ran_s):
    """The clock of the last reboot starts now; the others ran while the board was away."""
    state = clocked(BOOT)
    state = state._replace(ages=state.ages._replace(phase_s=phase_s))
    ages = next_ages(state, outage_s=outage_s)
    assert ages["reboot_1_s"] == CLOCKS["reboot_1_s"] + TICK_S
    for name in ("reboot_2_s", "reboot_3_s", "dry_reset_1_s", "dry_reset_2_s"):
        assert ages[name] == CLOCKS[name] + ran_s, name


def test_no_other_phase_counts_an_outage():
    state = clocked()
    begun = state._replace(ages=state.ages._replace(phase_s=0.0))
    for each in (state, begun):
        assert next_ages(each, outage_s=90.0)["reboot_2_s"] == CLOCKS["reboot_2_s"] + TICK_S


def test_a_dump_moves_the_clocks_of_the_dumps_before_by_one_place():
    state = clocked()
    hot_c = constants_of().limits.outlet_hh_c - 5.0
    rig = Rig(constants_of())
    rig.state = state
    rig.set(coil_outlet_a_c=hot_c, coil_outlet_b_c=hot_c, tank_c=60.0)
    rig.until(lambda r: r.state.mode.phase == DUMP, 30.0)
    ran_s, ages = rig.time_s, rig.state.ages
    assert ages.phase_s == 0.0
    assert (ages.dump_1_s, ages.dump_2_s, ages.dump_3_s, ages.dump_4_s) == (
        0.0, CLOCKS["dump_1_s"] + ran_s, CLOCKS["dump_2_s"] + ran_s, CLOCKS["dump_3_s"] + ran_s
    )
    rig.tick()
    assert rig.state.ages.dump_1_s == TICK_S
    assert rig.state.ages.phase_s == TICK_S


@pytest.mark.parametrize("phase", [each for each in range(len(PHASES)) if each != DUMP])
def test_no_other_phase_is_a_dump(phase):
    state = clocked(phase)
    readings = healthy(constants_of())
    made = decide(readings, Requests(), state, constants_of()).state
    assert made.mode.phase != DUMP
    assert (made.ages.dump_1_s, made.ages.dump_2_s) == (4000.0 + TICK_S, 5000.0 + TICK_S)


@pytest.mark.parametrize("phase", [DUMP, NO_FLOW])
def test_a_dump_that_goes_on_after_the_water_came_back_is_one_more(phase):
    state = clocked(phase)
    state = state._replace(mode=state.mode._replace(came_from=DUMP))
    hot_c = constants_of().limits.outlet_dump_c + 1.0
    rig = Rig(constants_of())
    rig.state = state
    rig.set(coil_outlet_a_c=hot_c, coil_outlet_b_c=hot_c, tank_c=60.0)
    for _ in range(20):
        rig.tick()
        if rig.state.mode.phase == DUMP:
            break
    assert rig.state.mode.phase == DUMP
    begun = phase != DUMP
    assert (rig.state.ages.dump_1_s == 0.0) == begun
    assert rig.state.ages.dump_2_s == (4000.0 if begun else 5000.0) + rig.time_s


def test_a_return_of_the_water_starts_its_clock_and_the_proof_anew():
    rig = Rig().settle(30.0).stop_water()
    rig.until(lambda r: r.state.mode.phase == NO_FLOW, 10.0)
    assert rig.state.ages.proof_s == 0.0
    rig.start_water()
    rig.until(lambda r: r.state.mode.phase != NO_FLOW, 20.0)
    assert rig.state.ages.flow_return_s == 0.0
    rig.tick()
    assert rig.state.ages.flow_return_s == TICK_S


def test_a_lock_out_is_no_return_of_the_water():
    assert locked().state.ages.flow_return_s > 3600.0


def test_a_reset_of_the_lock_out_starts_its_clock_and_keeps_the_one_before():
    rig = locked()
    ages = rig.state.ages._replace(dry_reset_1_s=90000.0, dry_reset_2_s=95000.0)
    rig.state = rig.state._replace(ages=ages)
    began_s = rig.time_s
    declared_out(rig)
    for _ in range(40):
        if rig.state.mode.phase != STANDBY:
            rig.tick(Requests(reset=True))
    ran_s = rig.time_s - began_s
    assert rig.state.ages.dry_reset_1_s == 0.0
    assert rig.state.ages.dry_reset_2_s == 90000.0 + ran_s


def test_silence_lasts_five_minutes():
    rig = Rig().settle(30.0).run(1.0, Requests(emergency=True)).run(1.0)
    rig.tick(Requests(silence=True))
    assert rig.commands.horn == 0
    assert rig.until(lambda r: r.commands.horn == 3, 400.0) == 300.0


@pytest.mark.parametrize(("trouble", "new", "horn"), [
    ({"level_low_low": 1.0}, {}, 0),
    ({"level_low_low": 1.0}, {"radiator_inlet_c": 20.0, "flow_switch": NAN}, 0),
    ({"flow_switch": NAN}, {"level_low_low": 1.0}, 3),
])  # fmt: skip
def test_only_a_new_row_that_is_told_without_pause_ends_the_silence(trouble, new, horn):
    rig = Rig().settle(30.0).set(**trouble).run(15.0)
    rig.tick(Requests(silence=True))
    assert rig.commands.horn == 0
    rig.run(30.0)
    assert rig.commands.horn == 0
    assert rig.set(**new).run(30.0).commands.horn == horn


def test_a_horn_that_nobody_silenced_has_no_clock():
    rig = Rig()
    for _ in range(20):
        rig.tick()
        assert rig.state.watch.silence_s == 0.0


def test_a_silence_that_ends_between_two_ticks_ends():
    rig = Rig().settle(5.0)
    rig.state = rig.state._replace(watch=rig.state.watch._replace(silence_s=0.4 * TICK_S))
    rig.run(2.0 * TICK_S)
    assert rig.state.watch.silence_s == 0.0


def test_new_trouble_leaves_nothing_of_the_silence():
    rig = Rig().settle(5.0)
    rig.tick(Requests(silence=True))
    rig.set(level_low_low=1.0)
    rig.until(lambda r: "C24" in names(r.state.raised), 10.0)
    assert rig.state.watch.silence_s == 0.0


@pytest.mark.parametrize(("open_s", "stays"), [(60.0 - TICK_S, True), (60.0, False)])
def test_a_dump_stays_open_for_a_minute(open_s, stays):
    rig = Rig().settle(5.0)
    control = rig.state.control._replace(dump_open=True, dump_open_s=open_s)
    rig.state = rig.state._replace(control=control)
    rig.tick()
    assert rig.state.mode.phase == RUN
    assert rig.commands.dump_open == stays


NOISY_BESIDE = [
    ({}, Requests()), ({"level_low": 1.0}, Requests()), ({}, Requests(emergency=True)),
]


@pytest.mark.parametrize("lost_s", [15.0, 15.0 + TICK_S])
@pytest.mark.parametrize(("changes", "requests"), NOISY_BESIDE)
def test_what_returns_lets_go_ten_minutes_after_its_cause_whatever_else_counts(
    changes, requests, lost_s
):
    rig = Rig().settle(30.0).set(flow_switch=NAN).run(lost_s)
    assert "C41" in names(rig.state.raised)
    rig.set(flow_switch=1.0, **changes).run(600.0 - TICK_S, requests)
    assert "C41" in names(rig.state.raised)
    rig.tick(requests)
    assert "C41" not in names(rig.state.raised)


def test_what_returns_lets_go_although_the_ticks_do_not_meet_the_ten_minutes():
    rig = Rig().settle(30.0).set(flow_switch=NAN).run(15.0).set(flow_switch=1.0).run(5.0)
    rig.state = rig.state._replace(watch=rig.state.watch._replace(clean_s=599.9))
    rig.tick()
    assert "C41" not in names(rig.state.raised)


@pytest.mark.parametrize("lost", ["tank_c", "coil_outlet_a_c", "coil_outlet_b_c"])
def test_the_clock_of_heat_stands_while_the_rise_can_not_be_known(lost):
    """A tub has no radiator that could tell its tank's temperature."""
    cool = {"coil_outlet_a_c": 24.0, "coil_outlet_b_c": 24.0, "tank_c": 23.5}
    rig = Rig(constants_of("hot-tub")).set(**cool).settle(20.0)
    before = rig.state._replace(watch=rig.state.watch._replace(heating_s=7.0))
    rig.state = before
    rig.set(**{lost: NAN}).tick()
    assert rig.state.watch.heating_s == 7.0
    rig.state = before
    rig.set(**cool).tick()
    assert rig.state.watch.heating_s == 0.0


def test_the_freeze_guard_rests_as_long_as_it_may_and_starts_anew():
    rig = cold_rig().set(line_min_c=3.0).run(1.0)
    assert rig.state.mode.phase == FREEZE
    rig.set(line_min_c=5.0)
    rest_s = rig.constants.power.rest_s
    rig.state = rig.state._replace(
        control=rig.state.control._replace(guard_s=180.0 + rest_s - 2.0 * TICK_S)
    )
    rig.tick()
    assert rig.state.control.guard_s == 180.0 + rest_s - TICK_S
    assert not rig.commands.pump
    rig.tick()
    assert rig.state.control.guard_s == 0.0
    assert rig.commands.pump


def test_a_dry_coil_is_told_as_dry_until_a_person_has_reset_it():
    rig = locked()
    assert rig.state.mode.coil == MAYBE_DRY
    rig.state = after_reboot(rig.state)
    rig.tick()
    assert rig.state.mode.coil == MAYBE_DRY
    assert cold_rig().run(1.0).state.mode.fire == NO


@pytest.mark.parametrize("more", [0, EVERY_ROW])
def test_the_first_row_of_a_mask_is_its_lowest(more):
    for index in range(LAST_ROW + 1):
        assert first_of((1 << index) | (more & ~((1 << index) - 1))) == index


@pytest.mark.parametrize("came_from", [WARM_UP, RUN, DUMP, SHUTDOWN, DEGRADED])
def test_a_return_of_the_water_counts_wherever_it_leads(came_from):
    rig = Rig()
    state = clocked(NO_FLOW)
    rig.state = state._replace(mode=state.mode._replace(came_from=came_from))
    rig.until(lambda r: r.state.mode.phase != NO_FLOW, 20.0)
    assert rig.state.mode.phase == came_from
    assert rig.state.ages.flow_return_s == 0.0


def test_no_other_way_into_a_phase_is_a_return_of_the_water():
    """Nor does it begin the proof of flow anew."""
    for phase, requests in ((DEGRADED, FINISH), (DUMP, Requests()), (RUN, FINISH)):
        rig = Rig().settle(20.0)
        proof_s = rig.state.ages.proof_s
        assert proof_s > 1.0
        mode = rig.state.mode._replace(phase=phase)
        ages = rig.state.ages._replace(flow_return_s=8000.0, phase_s=1000.0)
        watch = rig.state.watch._replace(cooled_s=1000.0)
        rig.state = rig.state._replace(mode=mode, ages=ages, watch=watch)
        rig.tick(requests)
        assert rig.state.mode.phase != phase
        assert rig.state.ages.flow_return_s == 8000.0 + TICK_S
        assert rig.state.ages.proof_s >= proof_s


def test_warm_water_on_the_way_up_is_no_new_proof():
    rig = Rig(phase=WARM_UP).settle(1.0)
    rig.until(lambda r: r.state.mode.phase == RUN, 300.0)
    assert rig.state.ages.proof_s > 1.0


@pytest.mark.parametrize(("proof_s", "water", "out"), [
    (5.0, {}, True), (1.0, {}, False), (5.0, {"flow_lpm": NAN}, False),
    (5.0, {"flow_lpm": 0.0, "pulse_age_s": 5.0, "flow_switch": 0.0}, False),
])  # fmt: skip
def test_a_fire_is_out_only_by_what_moving_water_tells(proof_s, water, out):
    """Half an hour without heat, an hour since the last: the next tick would decide it."""
    cool = {"coil_outlet_a_c": 23.5, "coil_outlet_b_c": 23.5, "flue_c": 40.0, "coil_metal_c": 30.0}
    rig = Rig(phase=SHUTDOWN).set(**cool).settle(20.0).set(**water)
    ages = rig.state.ages._replace(cold_s=1800.0 - TICK_S, heat_s=3600.0, proof_s=proof_s)
    rig.state = rig.state._replace(ages=ages)
    rig.tick()
    assert (rig.state.mode.fire == NO) == out
    assert rig.state.ages.cold_s == (1800.0 if out else 0.0)


@pytest.mark.parametrize(("fire", "open_s", "stays"), [
    (YES, 10.0, True), (UNKNOWN, 10.0, True), (YES, 60.0, False), (NO, 10.0, False),
])  # fmt: skip
def test_over_a_fire_no_phase_shuts_a_dump_that_has_just_opened(fire, open_s, stays):
    rig = cold_rig()
    state = first_state(rig.constants, STANDBY, fire)
    control = state.control._replace(dump_open=True, dump_open_s=open_s)
    rig.state = state._replace(control=control)
    rig.tick()
    assert rig.state.mode.phase == STANDBY
    assert rig.commands.dump_open == stays
