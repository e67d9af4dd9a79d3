"""Readings held against each other: each rule seen catching, and quiet just short of it."""

from __future__ import annotations

import math

import pytest

from coilward.controller.causing import installed_lpm
from coilward.controller.constants import constants_for
from coilward.controller.interlocks import INDEX, bit
from coilward.controller.phases import RUN, SHUTDOWN, STANDBY, WARM_UP
from coilward.controller.plausibility import RULES
from coilward.controller.state import NO, after_reboot
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from tests.controller.rig import NAN, TODAY, Rig, constants_of, everything_fitted
from tests.controller.scenes import COLD_LOOP, cold_rig

LIMITS = constants_of().limits
TRUTH = constants_of().truth
LUKEWARM = {
    "coil_outlet_a_c": 27.0, "coil_outlet_b_c": 27.1, "radiator_inlet_c": 26.5,
    "radiator_outlet_c": 12.0,
}
"""A loop that has just been lit."""


def fitted(**changes: bool) -> Rig:
    constants = constants_of()
    return Rig(constants._replace(fitted=constants.fitted._replace(**changes)))


def test_the_list_of_rules_is_whole_and_names_rows_that_exist():
    assert [rule.number for rule in RULES] == list(range(1, 19))
    for rule in RULES:
        assert rule.rule.endswith(".")
        assert all(name in INDEX or name == "check" for name in rule.leads_to)
        assert rule.leads_to or rule.note.startswith("Not applied"), rule.name


# --- rules 3 and 6: coil against radiator, order ---


def lost_k(rig: Rig) -> float:
    """What the hot line loses, by its conductance over the heat that the flow carries."""
    carried_w_k = rig.constants.water.w_per_lpm_k * rig.readings.flow_lpm
    return TRUTH.hot_w_k * (60.0 - TRUTH.hot_air_c) / carried_w_k


def test_the_lines_loss_is_what_the_simulated_line_loses():
    from coilward.simulator import slots as at
    from coilward.simulator.parameters import parameters

    loop = read_loop("greenhouse")
    p = parameters(loop, derive(loop, TODAY), loop.site.outdoor_c)
    assert pytest.approx(p[at.HOT_W_K] * at.LINE_CELLS, rel=0.15) == TRUTH.hot_w_k


def test_c18_an_inlet_that_is_colder_than_the_line_can_make_it():
    rig = Rig().settle(200.0)
    rig.set(radiator_inlet_c=60.0 - lost_k(rig) - 2.0 - TRUTH.line_error_k - 0.5)
    rig.run(120.0)
    assert "C18" not in rig.rows
    rig.until(lambda r: "C18" in r.rows, 330.0)
    assert rig.phase == "run"
    assert rig.commands.damper_open
    rig.until(lambda r: r.phase == "degraded run", 660.0)
    assert "C43" in rig.rows
    rig.set(radiator_inlet_c=59.0)
    rig.until(lambda r: r.phase == "run", 1000.0)


def test_c18_is_quiet_within_the_errors_and_while_the_water_is_not_calm():
    rig = Rig().settle(200.0)
    rig.set(radiator_inlet_c=60.0 - lost_k(rig) - 2.0 - TRUTH.line_error_k + 0.3).run(1500.0)
    assert rig.rows == []
    swings = Rig().settle(200.0)
    for _ in range(40):
        swings.set(radiator_inlet_c=45.0).run(15.0).set(radiator_inlet_c=55.0).run(15.0)
    assert "C18" not in swings.rows


def test_c18_needs_both_thermometers_and_a_fire():
    cold = -2.0 - TRUTH.line_error_k - 5.0
    bare = fitted(radiator_inlet=False).settle(200.0).set(radiator_inlet_c=60.0 + cold)
    assert "C18" not in bare.run(600.0).rows
    lost = Rig().settle(200.0).set(radiator_inlet_c=NAN).run(600.0)
    assert "C18" not in lost.rows
    out = cold_rig().set(radiator_inlet_c=-20.0).run(600.0)
    assert "C18" not in out.rows


def test_a_pipe_does_not_heat_water():
    rig = Rig().settle(200.0).set(radiator_inlet_c=60.0 + 2.0 + TRUTH.line_error_k + 0.5)
    rig.until(lambda r: "C13" in r.rows, 400.0)
    assert rig.commands.fans >= 0.5
    quiet = Rig().settle(200.0).set(radiator_inlet_c=60.0 + 2.0 + TRUTH.line_error_k - 0.5)
    assert "C13" not in quiet.run(600.0).rows


def test_an_outlet_that_is_colder_than_the_tank_is_in_doubt():
    low_c = 60.0 - 1.0 - TRUTH.rise_error_k
    for constants in (constants_of(), fitted(radiator_inlet=False).constants):
        rig = Rig(constants, SHUTDOWN).set(tank_c=60.0, radiator_inlet_c=low_c - 1.0)
        rig.set(coil_outlet_a_c=low_c - 1.0, coil_outlet_b_c=low_c - 1.0)
        rig.until(lambda r: "C13" in r.rows, 100.0)
        near = Rig(constants, SHUTDOWN).set(tank_c=60.0, radiator_inlet_c=low_c + 0.5)
        near.set(coil_outlet_a_c=low_c + 0.5, coil_outlet_b_c=low_c + 0.5).run(300.0)
        assert "C13" not in near.rows


# --- rule 7: frozen ---


def test_a_frozen_outlet_is_lost_once_its_neighbour_has_moved():
    for frozen, moving in (("a", "b"), ("b", "a")):
        rig = Rig().settle(60.0)
        rig.fidgets.discard(f"coil_outlet_{frozen}_c")
        rig.run(600.0)
        assert rig.rows == []
        rig.set(**{f"coil_outlet_{moving}_c": 62.5})
        took_s = rig.until(lambda r: "C13" in r.rows, 60.0)
        assert took_s >= 30.0
        suspects = rig.state.doubt.suspects
        assert suspects == (1 if frozen == "a" else 2)
        rig.fidgets.add(f"coil_outlet_{frozen}_c")
        rig.run(10.0)
        assert rig.state.doubt.suspects == 0


def test_a_working_outlet_may_differ_from_its_neighbour():
    rig = Rig().settle(60.0).set(coil_outlet_b_c=62.5).run(600.0)
    assert rig.rows == []


@pytest.mark.parametrize(
    ("changes", "mover"),
    [
        ({"outlet_b": False}, "radiator_inlet_c"),
        ({"outlet_b": False, "radiator_inlet": False}, "coil_metal_c"),
    ],
)
def test_a_single_frozen_outlet_ends_the_fire_by_what_lies_next_to_it(changes, mover):
    rig = fitted(**changes).settle(60.0)
    rig.fidgets.discard("coil_outlet_a_c")
    rig.run(200.0).set(**{mover: getattr(rig.readings, mover) - 2.5})
    rig.until(lambda r: "C14" in r.rows, 60.0)
    assert rig.state.mode.phase == SHUTDOWN


def test_an_outlet_with_no_neighbour_is_never_called_frozen():
    rig = fitted(outlet_b=False, radiator_inlet=False, metal=False).settle(60.0)
    rig.fidgets.discard("coil_outlet_a_c")
    rig.run(200.0).set(coil_metal_c=75.0, radiator_inlet_c=50.0).run(300.0)
    assert rig.rows == []


def test_a_frozen_tank_is_lost_where_its_noise_would_move_it():
    rig = Rig().settle(60.0)
    rig.fidgets.discard("tank_c")
    took_s = rig.until(lambda r: "C15" in r.rows, 320.0)
    assert took_s >= 295.0
    coarse = constants_of()._replace(truth=TRUTH._replace(tank_fidgets=False))
    still = Rig(coarse).settle(60.0)
    still.fidgets.discard("tank_c")
    assert still.run(900.0).rows == []
    cold = cold_rig()
    cold.fidgets.discard("tank_c")
    assert cold.run(900.0).rows == []


def test_errors_and_noise_come_from_the_loop_file():
    loop = read_loop("greenhouse")
    coarse = loop.sensors.tank.model_copy(update={"noise_k": 0.0})
    thick = loop.sensors.coil_outlet_b.model_copy(update={"quantum_k": 2.0, "error_k": 4.0})
    sensors = loop.sensors.model_copy(
        update={"tank": coarse, "coil_outlet_b": thick, "radiator_inlet": None}
    )
    truth = constants_for(
        loop.model_copy(update={"sensors": sensors}), derive(loop, TODAY)
    ).truth
    assert not truth.tank_fidgets
    assert truth.neighbour_moves_k == 4.0
    assert truth.line_error_k == 4.0
    assert truth.rise_error_k == pytest.approx(math.hypot(4.0, loop.sensors.tank.error_k))


# --- rule 9: flow against pump and valve ---


def lukewarm(share: float) -> Rig:
    """The valve open at 12.4 V, and a share of the flow that it should give there."""
    rig = Rig(phase=WARM_UP).set(**LUKEWARM).settle(60.0)
    due_lpm = installed_lpm(1.0, rig.constants) * 12.4 / rig.constants.power.rated_v
    return rig.set(flow_lpm=share * due_lpm)


def test_c46_a_flow_that_valve_and_pump_do_not_give():
    for share in (0.6, 1.5):
        rig = lukewarm(share)
        rig.until(lambda r: "C46" in r.rows, 250.0)
        assert rig.commands.pump
        assert rig.phase == "warm-up"
    for share in (0.75, 1.3):
        assert "C46" not in lukewarm(share).run(400.0).rows


def test_c46_weighs_the_flow_by_the_supply():
    rig = Rig(phase=WARM_UP).set(**LUKEWARM)
    rig.set(supply_v=11.4, flow_lpm=0.8 * installed_lpm(1.0, rig.constants)).run(400.0)
    assert "C46" not in rig.rows


# --- rule 11: flow and outlet up together ---


def rising(rig: Rig, seconds: int) -> Rig:
    rate_k_s = 0.6 * LIMITS.outlet_rate_k_s
    start_c = rig.readings.coil_outlet_a_c
    for second in range(seconds):
        outlet_c = start_c + rate_k_s * second
        rig.set(coil_outlet_a_c=outlet_c, coil_outlet_b_c=outlet_c, radiator_inlet_c=outlet_c - 1.0)
        rig.run(1.0)
    return rig


def test_flow_that_rises_with_the_outlet_and_no_command_is_no_flow():
    rig = Rig(phase=WARM_UP).set(**LUKEWARM).settle(90.0)
    rig.set(flow_lpm=1.3 * rig.readings.flow_lpm)
    rising(rig, 12)
    assert "C01" in rig.rows
    assert "no-flow fault" in rig.visited
    assert rig.commands.pump


def test_either_alone_is_no_steam_and_a_throttling_valve_is_none_either():
    only_flow = Rig(phase=WARM_UP).set(**LUKEWARM).settle(90.0)
    only_flow.set(flow_lpm=1.3 * only_flow.readings.flow_lpm).run(12.0)
    assert "C01" not in only_flow.rows
    only_heat = Rig(phase=WARM_UP).set(**LUKEWARM).settle(90.0)
    assert "C01" not in rising(only_heat, 12).rows
    throttled = Rig().set(coil_outlet_a_c=55.0, coil_outlet_b_c=55.0).settle(90.0)
    throttled.set(flow_lpm=1.3 * throttled.readings.flow_lpm)
    assert "C01" not in rising(throttled, 12).rows


# --- rule 14: not responding ---


def flared(rig: Rig, by_k: float, minutes: int) -> Rig:
    for minute in range(minutes):
        rig.set(flue_c=250.0 + by_k * (minute % 2)).run(60.0)
    return rig


def test_an_outlet_that_ignores_the_fire_is_in_doubt_until_it_answers():
    rig = flared(Rig(phase=WARM_UP).set(**LUKEWARM).settle(120.0), 60.0, 12)
    assert "C13" in rig.rows
    for minute in range(24):
        outlet_c = 27.0 + (minute % 4)
        rig.set(coil_outlet_a_c=outlet_c, coil_outlet_b_c=outlet_c, flue_c=250.0).run(30.0)
    assert rig.state.doubt.suspects == 0


def test_a_quiet_fire_a_moving_outlet_and_a_loop_without_a_flue_raise_nothing():
    assert "C13" not in flared(Rig(phase=WARM_UP).set(**LUKEWARM).settle(120.0), 45.0, 24).rows
    moving = Rig(phase=WARM_UP).set(**LUKEWARM).settle(120.0)
    for minute in range(24):
        moving.set(coil_outlet_a_c=27.0 + minute % 2, coil_outlet_b_c=27.1 + minute % 2)
        moving.set(flue_c=250.0 + 60.0 * (minute % 3)).run(60.0)
    assert "C13" not in moving.rows
    unfitted = constants_of()._replace(fitted=constants_of().fitted._replace(flue=False))
    bare = Rig(unfitted, WARM_UP).set(**LUKEWARM).settle(120.0)
    assert "C13" not in flared(bare, 60.0, 24).rows


# --- rule 15: a pair far apart ---


def test_c43_a_pair_far_apart_degrades_the_run_by_the_hotter_one():
    rig = Rig().settle().set(coil_outlet_b_c=49.0)
    rig.until(lambda r: r.phase == "degraded run", 8.0)
    assert "C43" in rig.rows
    assert rig.commands.pump
    assert not rig.commands.damper_open
    near = Rig().settle().set(coil_outlet_b_c=51.0).run(30.0)
    assert "C43" not in near.rows


# --- rule 18: the clock ---


@pytest.mark.parametrize("jump_s", [-0.5, -1e6, 0.75, 1e6])
def test_c44_a_clock_that_jumps_is_told_and_moves_nothing(jump_s):
    rig = Rig().settle()
    before = rig.commands
    rig.time_s += jump_s
    rig.tick()
    assert "C44" in rig.rows
    assert rig.commands == before._replace(horn=1)
    rig.run(590.0)
    assert rig.state.raised & bit("C44")
    rig.run(15.0)
    assert not rig.state.raised & bit("C44")


def test_c44_leaves_one_late_tick_and_a_start_alone():
    rig = Rig().settle()
    rig.time_s += 0.25
    rig.run(1.0)
    assert "C44" not in rig.rows
    rig.state = after_reboot(rig.state)
    rig.time_s += 500.0
    rig.run(5.0)
    assert "C44" not in rig.rows
    assert rig.state.mode.phase in (RUN, WARM_UP)


# --- C45, foul air; C41, lost guards ---


def test_c45_a_little_carbon_monoxide_for_five_minutes_is_told():
    for fire_out in (False, True):
        rig = Rig(everything_fitted())
        if fire_out:
            rig = Rig(everything_fitted(), STANDBY, NO).set(**COLD_LOOP).set(flow_lpm=0.0)
        rig.set(co_ppm=30.0).run(150.0).set(co_ppm=NAN).run(100.0).set(co_ppm=30.0).run(145.0)
        assert "C45" not in rig.rows
        rig.until(lambda r: "C45" in r.rows, 10.0)
        assert "C27" not in rig.rows
        assert rig.commands.horn == 1
        rig.set(co_ppm=29.0).run(2.0)
        assert not rig.state.raised & bit("C45")


def test_c45_starts_anew_after_clean_air():
    rig = Rig(everything_fitted()).set(co_ppm=31.0).run(200.0).set(co_ppm=5.0).run(2.0)
    assert "C45" not in rig.set(co_ppm=31.0).run(200.0).rows


@pytest.mark.parametrize(
    "channel",
    ["damper_shut", "co_ppm", "smoke", "vent_wet", "line_min_c", "flue_c", "radiator_inlet_c",
     "radiator_outlet_c"],
)
def test_c41_tells_a_guard_that_does_not_answer(channel):
    rig = Rig(everything_fitted()).settle(30.0).set(**{channel: NAN})
    rig.until(lambda r: "C41" in r.rows, 10.0)
    assert rig.phase == "run"


def test_a_cold_radiator_without_a_fire_is_no_lost_one():
    rig = cold_rig().set(radiator_inlet_c=-31.0, radiator_outlet_c=-31.0).run(30.0)
    assert rig.rows == []


def test_a_dead_meter_that_shows_no_flow_divides_nothing():
    """A board has restarted, and water is proven by the current alone: rule 3 has no stream to
    reckon with, and stays quiet."""
    rig = Rig().settle(5.0)
    mode = rig.state.mode._replace(meter_dead=True)
    ages = rig.state.ages._replace(proof_s=60.0)
    watch = rig.state.watch._replace(slow_lpm=NAN)
    rig.state = rig.state._replace(mode=mode, ages=ages, watch=watch)
    rig.set(flow_lpm=0.0, pulse_age_s=0.0).run(30.0)
    assert rig.state.mode.meter_dead
    assert rig.state.watch.slow_lpm == 0.0
    assert "C18" not in rig.rows
