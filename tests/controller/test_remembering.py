"""What one tick leaves for the next: the valve that was told, for how long, and the silence."""

from __future__ import annotations

import pytest

from coilward.controller.causing import installed_lpm
from coilward.controller.decide import RETURNS_S, decide
from coilward.controller.interlocks import bit
from coilward.controller.phases import (
    BOOT,
    DEGRADED,
    DUMP,
    NO_FLOW,
    PHASES,
    RUN,
    SHUTDOWN,
    WARM_UP,
)
from coilward.controller.state import YES, after_reboot, first_state
from coilward.controller.types import Requests
from coilward.controller.valve import PASS_S
from tests.controller.rig import NAN, Rig, constants_of, healthy
from tests.controller.scenes import cold_rig

TICK_S = constants_of().tick_s
HALTS = (BOOT, NO_FLOW)
BACKLASH = constants_of().valve.backlash


def next_control(phase, **control):
    """Memory and commands after one tick of a phase that had this in its memory."""
    constants = constants_of()
    state = first_state(constants, phase, YES)
    state = state._replace(control=state.control._replace(**control))
    made = decide(healthy(constants), Requests(), state, constants)
    assert made.state.mode.phase == phase
    return made.state.control, made.commands


def test_a_valve_that_is_told_to_shut_begins_its_clock_anew():
    """In the check before lighting."""
    rig = cold_rig().run(1.0)
    rig.tick(Requests(prepare=True))
    open_s = rig.until(lambda r: r.commands.valve < 1.0, 60.0)
    assert open_s > 10.0 * TICK_S
    assert rig.state.control.moved_s == 0.0
    rig.tick()
    assert rig.state.control.moved_s == TICK_S


@pytest.mark.parametrize("was", [0.2, 0.9])
def test_a_valve_that_is_told_something_new_begins_its_clock_anew(was):
    control, commands = next_control(SHUTDOWN, valve=was, moved_s=40.0)
    assert commands.valve == control.valve == 1.0
    assert control.moved_s == 0.0


def test_a_valve_that_is_left_where_it_was_lets_its_clock_run():
    control, _ = next_control(SHUTDOWN, valve=float("1.0"), moved_s=40.0)
    assert control.moved_s == 40.0 + TICK_S


def test_the_run_phase_remembers_the_goal_and_not_the_detour():
    """On the way shut the servo is told to go past the goal at first."""
    control, commands = next_control(RUN, valve=0.6, moved_s=0.0, closing=True, target_lpm=5.0)
    assert commands.valve == 0.6 - BACKLASH
    assert control.valve == 0.6
    assert control.moved_s == TICK_S < PASS_S


def test_a_run_phase_that_is_overruled_remembers_what_the_valve_was_told():
    rig = Rig().settle(20.0).set(line_min_c=0.5)
    rig.until(lambda r: r.commands.valve == 1.0, 40.0)
    assert rig.state.mode.phase == RUN
    assert rig.state.control.valve == 1.0
    assert rig.state.control.moved_s == 0.0


def test_a_silence_that_has_run_out_is_over():
    rig = Rig().settle(5.0).run(1.0, Requests(emergency=True)).run(1.0)
    rig.state = rig.state._replace(watch=rig.state.watch._replace(silence_s=0.4 * TICK_S))
    rig.tick()
    assert rig.commands.horn == 3


ANSWERED_LPM = installed_lpm(1.0, constants_of())
NOT_ANSWERED = {"stroke_was": 0.5, "flow_was_lpm": ANSWERED_LPM, "moved_s": 60.0}
HALF_OPEN = {"stroke_was": 0.5, "flow_was_lpm": installed_lpm(0.5, constants_of()), "moved_s": 60.0}


@pytest.mark.parametrize(("before", "changes", "requests", "stroke_was"), [
    (HALF_OPEN, {}, Requests(), 1.0),
    (HALF_OPEN, {"tank_c": NAN}, Requests(), 1.0),
    (HALF_OPEN, {}, Requests(emergency=True), 1.0),
    (NOT_ANSWERED, {}, Requests(), 0.5),
    (NOT_ANSWERED, {"tank_c": NAN}, Requests(), 0.5),
    (NOT_ANSWERED, {}, Requests(emergency=True), 0.5),
])  # fmt: skip
def test_only_a_valve_that_does_not_answer_keeps_its_last_answer(
    before, changes, requests, stroke_was
):
    """Whatever else is wrong."""
    rig = Rig(phase=SHUTDOWN).settle(60.0).set(**changes)
    rig.state = rig.state._replace(control=rig.state.control._replace(**before))
    rig.tick(requests)
    assert rig.state.control.stroke_was == stroke_was
    assert rig.state.control.flow_was_lpm == pytest.approx(ANSWERED_LPM)


STILL = {"flow_lpm": 0.0, "pulse_age_s": 5.0, "flow_switch": 0.0}


def next_mode(phase, came_from, **changes):
    constants = constants_of()
    state = first_state(constants, phase, YES)
    state = state._replace(mode=state.mode._replace(came_from=came_from))
    return decide(healthy(constants)._replace(**changes), Requests(), state, constants).state.mode


@pytest.mark.parametrize("came_from", [WARM_UP, DUMP])
@pytest.mark.parametrize("phase", [each for each in range(len(PHASES)) if each not in HALTS])
def test_every_other_phase_forgets_where_the_water_stopped(phase, came_from):
    made = next_mode(phase, came_from)
    assert made.phase not in HALTS
    assert made.came_from == made.phase


@pytest.mark.parametrize("came_from", [WARM_UP, RUN, DUMP, SHUTDOWN, DEGRADED])
@pytest.mark.parametrize("phase", HALTS)
def test_the_phase_in_which_the_water_stopped_is_kept(phase, came_from):
    """Over restarts as well, until the water is back."""
    made = next_mode(phase, came_from, **STILL)
    assert made.phase == phase
    assert made.came_from == came_from


@pytest.mark.parametrize("rebooted", [False, True])
@pytest.mark.parametrize("came_from", [WARM_UP, RUN, SHUTDOWN])
def test_a_stop_of_the_water_knows_in_which_phase_it_came(came_from, rebooted):
    rig = Rig(phase=came_from).set(coil_outlet_a_c=30.0, coil_outlet_b_c=30.1).settle(2.0)
    if rebooted:
        rig.state = after_reboot(rig.state)
    rig.stop_water(current="as before").set(pump_contact=0.0)
    rig.tick()
    assert rig.state.mode.phase == (BOOT if rebooted else came_from)
    assert rig.state.mode.came_from == came_from
    rig.until(lambda r: r.state.mode.phase == NO_FLOW, 10.0)
    assert rig.state.mode.came_from == came_from
    rig.tick()
    assert rig.state.mode.came_from == came_from


@pytest.mark.parametrize(("latched", "dead"), [
    (("C17",), True), (("C17", "C24"), True), (("C16",), False), (("C19",), False),
    (("C16", "C19"), False), ((), False),
])  # fmt: skip
def test_the_meter_is_known_as_dead_while_its_own_latch_stands(latched, dead):
    constants = constants_of()
    state = first_state(constants, SHUTDOWN, YES)
    state = state._replace(mode=state.mode._replace(latched=sum(map(bit, latched))))
    made = decide(healthy(constants), Requests(), state, constants)
    assert made.state.mode.meter_dead is dead


@pytest.mark.parametrize(("second_s", "left_s", "looked"), [
    (0.0, TICK_S, False), (1.0 - 2.0 * TICK_S, 1.0 - TICK_S, False),
    (1.0 - TICK_S, 0.0, True), (1.0 - 0.4 * TICK_S, 0.0, True), (7.0, TICK_S, True),
])  # fmt: skip
def test_readings_are_doubted_once_a_second(second_s, left_s, looked):
    rig = Rig(phase=SHUTDOWN).settle(10.0)
    rig.fidgets = set()
    rig.state = rig.state._replace(watch=rig.state.watch._replace(second_s=second_s))
    before = rig.state.doubt
    rig.tick()
    assert rig.state.watch.second_s == left_s
    assert (rig.state.doubt != before) == looked


def hot_rig(second_s):
    """In the run phase, too hot, a move due, and so long since readings were judged."""
    rig = Rig().settle(20.0)
    rig.fidgets = set()
    rig.outlet(70.0)
    control = rig.state.control._replace(moved_s=99.0, valve=0.6, target_lpm=11.0)
    watch = rig.state.watch._replace(second_s=second_s)
    rig.state = rig.state._replace(control=control, watch=watch)
    return rig


def test_readings_are_judged_a_tick_later_where_the_valve_moves():
    rig = hot_rig(1.0 - TICK_S)
    before = rig.state.doubt
    rig.tick()
    assert rig.state.control.valve > 0.6
    assert rig.state.control.moved_s == 0.0
    assert (rig.state.doubt, rig.state.watch.second_s) == (before, 1.0)
    rig.tick()
    assert rig.state.doubt != before
    assert rig.state.watch.second_s == TICK_S


def test_the_valve_waits_for_readings_that_have_waited():
    rig = hot_rig(1.0)
    before = rig.state.doubt
    rig.tick()
    assert rig.state.doubt != before
    assert (rig.state.control.valve, rig.state.control.target_lpm) == (0.6, 11.0)
    assert rig.state.watch.second_s == TICK_S
    rig.tick()
    assert rig.state.control.valve > 0.6


def test_readings_are_judged_on_the_tick_that_a_move_is_only_waited_for():
    rig = hot_rig(1.0 - TICK_S)
    rig.state = rig.state._replace(control=rig.state.control._replace(moved_s=1.0))
    before = rig.state.doubt
    rig.tick()
    assert rig.state.doubt != before
    assert rig.state.watch.second_s == 0.0


@pytest.mark.parametrize(("phase", "was_open", "left_s"), [
    (DUMP, True, 5.0 + TICK_S), (DUMP, False, 0.0), (RUN, False, 0.0),
])  # fmt: skip
def test_the_dumps_clock_runs_from_the_tick_after_it_opened(phase, was_open, left_s):
    control, commands = next_control(phase, dump_open=was_open, dump_open_s=5.0)
    assert commands.dump_open == (phase == DUMP)
    assert control.dump_open_s == left_s


def test_a_dump_that_shuts_has_no_clock():
    control, commands = next_control(RUN, dump_open=True, dump_open_s=70.0)
    assert not commands.dump_open
    assert control.dump_open_s == 0.0


def test_where_it_comes_from_is_the_phase_itself_whatever_memory_says():
    rig = Rig().settle(2.0).stop_water(current="as before")
    for _ in range(40):
        if rig.state.mode.phase == RUN:
            rig.state = rig.state._replace(mode=rig.state.mode._replace(came_from=DUMP))
            rig.tick()
    assert (rig.state.mode.phase, rig.state.mode.came_from) == (NO_FLOW, RUN)


def test_a_returning_row_that_is_clean_goes_and_leaves_nothing_of_itself():
    """While another row counts, in each tick."""
    constants = constants_of()
    state = first_state(constants, SHUTDOWN, YES)
    state = state._replace(watch=state.watch._replace(held=bit("C13"), clean_s=RETURNS_S - 2.0))
    counted = set()
    for tick in range(round(4.0 / TICK_S)):
        readings = healthy(constants)._replace(time_s=(tick + 1) * TICK_S)
        state = decide(readings, Requests(emergency=True), state, constants).state
        counted.add(state.raised)
    assert counted == {bit("C13") | bit("C32"), bit("C32")}
