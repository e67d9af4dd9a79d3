"""The corners of single functions: what a long run meets once a winter."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.controller.acting import guarded
from coilward.controller.causing import installed_lpm, valve_is_deaf
from coilward.controller.constants import constants_for
from coilward.controller.decide import decide
from coilward.controller.estimating import bounded_window, stands
from coilward.controller.interlocks import bit
from coilward.controller.phases import COLD_START, RUN, WARM_UP
from coilward.controller.prelight import passed_checks
from coilward.controller.sensing import sense
from coilward.controller.state import LONG_AGO_S, YES
from coilward.controller.types import Commands, Requests
from coilward.controller.valve import output_stroke, throttle
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from tests.controller.rig import NAN, TODAY, Rig, changed, constants_of

FLAT = {"curve_lpm": (8.0,) * 9, "slope_lpm": (0.0,) * 8, "foot_lpm": (8.0,) * 8}


def seen_by(rig: Rig):
    state = rig.state
    return sense(
        rig.readings, state.doubt.suspects, state.mode, state.ages, state.watch, state.control,
        rig.constants,
    )


def estimated(rig: Rig):
    from coilward.controller.estimating import estimate

    state = rig.state
    return estimate(
        rig.readings, Requests(), seen_by(rig), state.mode, state.ages, state.watch,
        rig.constants,
    )


def test_a_stroke_that_was_lost_is_guarded_to_the_stop_and_one_too_large_to_open():
    constants = constants_of()
    for stroke, expected in ((NAN, constants.valve.stop), (-3.0, constants.valve.stop), (7.0, 1.0)):
        said = Commands(True, stroke, 0.0, True, False, 0, False)
        out = guarded(said, RUN, YES, False, False, False, False, False, constants)
        assert out.valve == expected


@pytest.mark.parametrize("loop", ["greenhouse", "boathouse"])
def test_the_flow_at_a_stroke_lies_on_the_curve(loop):
    """Between its points straight, as numpy's interp has it; beyond its end as at the end."""
    constants = constants_of(loop)
    knots = np.linspace(0.0, 1.0, 9)
    for stroke in [*np.linspace(0.0, 1.0, 41), *np.nextafter(knots[1:-1], 1.0), 1.1]:
        due_lpm = np.interp(stroke, knots, constants.valve.curve_lpm)
        assert installed_lpm(stroke, constants) == pytest.approx(due_lpm, abs=1e-9)
    assert installed_lpm(NAN, constants) == constants.valve.curve_lpm[8]


def test_a_valve_is_not_judged_while_the_flow_still_moves():
    rig = Rig().settle(60.0)
    control = rig.state.control._replace(stroke_was=0.9, flow_was_lpm=5.0, moved_s=100.0)
    seen = seen_by(rig)
    assert valve_is_deaf(seen._replace(flow_lpm=5.0), control, rig.constants)
    assert not valve_is_deaf(seen._replace(flow_lpm=5.0, steady=False), control, rig.constants)
    assert not valve_is_deaf(seen._replace(flow_lpm=5.0, flow_good=False), control, rig.constants)
    flat = rig.constants.valve._replace(**FLAT)
    assert not valve_is_deaf(seen, control, changed(rig.constants, valve=flat))


def test_a_typed_window_only_shortens():
    assert bounded_window(100.0, 1e9) == 50.0
    assert bounded_window(100.0, 20.0) == 20.0
    assert bounded_window(-5.0, 20.0) == 0.0


def test_two_witnesses_outvote_good_pulses_and_one_does_not():
    seen = seen_by(Rig().settle(60.0))
    assert not stands(seen, False)
    assert not stands(seen._replace(current_bad=True), False)
    assert stands(seen._replace(current_bad=True, switch_off=True), False)
    assert stands(seen._replace(radiator_fell=True, metal_high=True), False)
    assert stands(seen._replace(flow_absent=True), False)
    assert not stands(seen._replace(flow_absent=True), True)


def test_clocks_saturate():
    rig = Rig().settle(10.0)
    ages = rig.state.ages._replace(still_s=LONG_AGO_S, heat_s=LONG_AGO_S)
    rig.state = rig.state._replace(ages=ages)
    rig.set(flow_lpm=NAN, pulse_age_s=NAN, pump_a=NAN, flow_switch=NAN, coil_metal_c=NAN)
    rig.set(coil_outlet_a_c=23.0, coil_outlet_b_c=23.0, flue_c=20.0).run(2.0)
    assert rig.state.ages.still_s == LONG_AGO_S
    assert rig.state.ages.heat_s == LONG_AGO_S


def test_the_minimum_flow_never_falls_under_the_least():
    rig = Rig().settle(60.0).set(tank_c=8.0)
    low = rig.constants.water._replace(heat_largest_w=100.0, heat_nominal_w=100.0)
    rig.constants = changed(rig.constants, water=low)
    rig.state = rig.state._replace(
        watch=rig.state.watch._replace(
            heat_now_w=0.0, heat_before_w=0.0, heat_earlier_w=0.0, mute_s=100.0
        )
    )
    assert estimated(rig).min_lpm == rig.constants.water.least_lpm


def test_a_loop_without_switches_passes_those_checks_by_having_none():
    fitted = constants_of()._replace(
        fitted=constants_of().fitted._replace(damper_switch=False, switch=False, fan_current=False)
    )
    rig = Rig(fitted, COLD_START).settle(10.0)
    seen, now = seen_by(rig), estimated(rig)
    passed = passed_checks(0, 40.0, rig.readings, seen, now, fitted)
    slow = passed_checks(
        0, 40.0, rig.readings, seen._replace(flow_lpm=1.0), now, fitted
    )
    assert passed & ~slow == 4
    assert passed & 512
    assert passed & (32 | 64) == 96
    at_stop = passed_checks(0, 80.0, rig.readings, seen._replace(flow_lpm=0.5), now, fitted)
    assert not at_stop & 8
    tub = constants_of("hot-tub")
    assert passed_checks(0, 80.0, rig.readings, seen._replace(flow_lpm=0.5), now, tub) & 8


def test_one_outlet_thermometer_alone_and_none_at_all():
    alone = constants_of()._replace(fitted=constants_of().fitted._replace(outlet_b=False))
    rig = Rig(alone).set(coil_outlet_b_c=NAN).settle(30.0)
    assert rig.rows == []
    rig.set(coil_outlet_a_c=NAN)
    rig.until(lambda r: "C14" in r.rows, 5.0)


def test_tank_and_radiator_both_lost_leave_an_endless_minimum():
    rig = Rig().settle(30.0).set(tank_c=NAN, radiator_outlet_c=NAN)
    assert seen_by(rig).tank_c != seen_by(rig).tank_c
    rig.until(lambda r: "C07" in r.rows, 15.0)
    assert rig.commands.pump


def test_the_rising_outlet_of_the_second_thermometer_counts():
    rig = Rig().settle(60.0)
    for step in range(12):
        rig.set(coil_outlet_b_c=60.1 + 0.25 * step).run(0.25)
    assert seen_by(rig).rising_k > 1.5


def test_a_pulse_in_this_very_instant_caps_nothing():
    rig = Rig().settle(30.0).set(pulse_age_s=0.0, flow_lpm=5.0)
    assert seen_by(rig).flow_lpm == 5.0
    rig.set(pulse_age_s=-1.0)
    assert seen_by(rig).flow_lpm == 5.0


def test_an_impossible_flow_is_no_reading():
    rig = Rig().settle(30.0).set(flow_lpm=float("inf"), pulse_age_s=0.0)
    rig.until(lambda r: "C01" in r.rows, 3.0)
    assert rig.state.mode.phase != 0


def test_the_first_value_of_a_digital_thermometer_is_not_believed_if_it_is_the_power_on_value():
    rig = Rig().set(coil_outlet_b_c=85.0)
    rig.tick()
    assert not seen_by(rig).outlet_b_ok
    rig.set(coil_outlet_b_c=60.0).run(2.0)
    assert seen_by(rig).outlet_b_ok


@pytest.mark.parametrize("travel_s", [1.0, 3.0, 20.0])
def test_moves_wait_for_the_valve_and_approach_from_the_closed_side(travel_s):
    loop = read_loop("greenhouse")
    slow = loop.model_copy(update={"valve": loop.valve.model_copy(update={"travel_s": travel_s})})
    constants = constants_for(slow, derive(slow, TODAY))
    valve = constants.valve
    rig = Rig(constants).settle(60.0)
    every_s = max(10.0, travel_s + 7.0)
    rig.outlet(50.0)
    control = rig.state.control._replace(moved_s=every_s - 1.0, valve=0.8, target_lpm=9.0)
    seen, now = seen_by(rig)._replace(flow_lpm=10.0), estimated(rig)
    waits = throttle(False, False, seen, now, control, rig.constants)
    assert waits.valve == 0.8
    moves = throttle(False, False, seen, now, control._replace(moved_s=every_s), rig.constants)
    assert moves.valve < 0.8
    assert moves.closing
    assert output_stroke(moves, rig.constants) == moves.valve - valve.backlash
    arrived = moves._replace(moved_s=1.0)
    assert output_stroke(arrived, rig.constants) == moves.valve


def test_the_throttle_stays_inside_its_limits():
    rig = Rig().settle(60.0)
    seen, now, constants = seen_by(rig), estimated(rig), rig.constants
    control = rig.state.control._replace(moved_s=100.0, target_lpm=100.0, valve=0.99)
    hot = seen._replace(outlet_c=76.0)
    far = throttle(False, False, hot, now, control, constants)
    assert far.target_lpm == constants.water.open_lpm
    assert far.valve == 1.0
    closing = control._replace(target_lpm=0.0, valve=constants.valve.stop)
    cold = seen._replace(outlet_c=30.0, flow_lpm=11.0)
    near = throttle(False, False, cold, now, closing, constants)
    assert near.valve == constants.valve.stop
    middle = control._replace(valve=0.6)
    steep = throttle(False, False, seen._replace(flow_lpm=2.0), now, middle, constants)
    assert steep.valve == pytest.approx(0.8)
    flat = changed(constants, valve=constants.valve._replace(**FLAT))
    gentle = throttle(False, False, seen._replace(flow_lpm=11.9), now, middle, flat)
    assert gentle.valve == pytest.approx(0.6 + 0.1 / (0.1 * constants.water.open_lpm), abs=0.02)


def test_deciding_without_a_change_of_phase_keeps_counting():
    rig = Rig(phase=WARM_UP).set(coil_outlet_a_c=25.0, coil_outlet_b_c=25.0)
    first = decide(rig.readings, Requests(), rig.state, rig.constants)
    second = decide(rig.readings, Requests(), first.state, rig.constants)
    assert second.state.ages.phase_s == first.state.ages.phase_s + rig.constants.tick_s


def test_a_lost_line_thermometer_keeps_the_frost_row():
    rig = Rig().settle(30.0).set(line_min_c=0.5)
    rig.until(lambda r: "C26" in r.rows, 60.0)
    rig.set(line_min_c=NAN).run(60.0)
    assert rig.state.raised & bit("C26")


def test_a_radiator_near_the_room_is_neither_weak_nor_a_witness():
    rig = Rig().settle(90.0).set(radiator_inlet_c=20.0, radiator_outlet_c=17.9, room_c=8.0)
    rig.run(200.0)
    assert "C22" not in rig.rows
    rig.set(radiator_inlet_c=45.0).run(90.0)
    assert "C22" not in rig.rows
    seen = seen_by(rig)
    assert not seen.radiator_fell
    assert not seen.radiator_steady
