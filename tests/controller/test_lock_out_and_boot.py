"""The dry lock-out, latches and silence, boot, frost."""

from __future__ import annotations

import pytest

from coilward.controller.phases import (
    COLD_START,
    DEGRADED,
    DRY,
    DUMP,
    FREEZE,
    NO_FLOW,
    PHASES,
    RESTING,
    RUN,
    SHUTDOWN,
    STANDBY,
    WARM_UP,
)
from coilward.controller.state import (
    COLD,
    MAYBE_DRY,
    NO,
    UNKNOWN,
    YES,
    after_reboot,
    is_sound,
)
from coilward.controller.types import Requests
from tests.controller.rig import NAN, Rig, constants_of, healthy
from tests.controller.scenes import (
    COLD_LOOP,
    cold_rig,
    deafen,
    declared_out,
    locked,
    run_obeyed,
)

# --- the dry lock-out ---


@pytest.mark.parametrize("phase", RESTING)
def test_still_water_over_an_unpermitted_fire_locks_off_at_the_window(phase):
    """A typed window shorter than the ten seconds of C34: the row must not wait for them."""
    usual = constants_of()
    rig = Rig(usual._replace(water=usual.water._replace(window_cap_s=5.0)), phase, NO)
    rig.set(**COLD_LOOP).set(flow_lpm=0.0).run(1.0)
    rig.stop_water().tick(Requests(lit=True))
    assert rig.commands.pump
    locked_s = rig.until(lambda r: "C11" in r.latched, 9.0)
    assert locked_s <= 5.0 + rig.constants.tick_s
    assert rig.phase == "dry lock-out"
    assert not rig.commands.pump


@pytest.mark.parametrize("phase", [WARM_UP, RUN, DUMP, SHUTDOWN, DEGRADED], ids=PHASES.__getitem__)
def test_a_window_shorter_than_a_dead_meter_takes_to_be_known_locks_nothing_off(phase):
    """Everything but the meter says that water moves."""
    usual = constants_of()
    rig = Rig(usual._replace(water=usual.water._replace(window_cap_s=1.0)), phase)
    rig.run(10.0)
    rig.set(flow_lpm=0.0, pulse_age_s=60.0)
    for _ in range(120):
        rig.tick()
        assert rig.commands.pump
    assert "C11" not in rig.rows
    assert rig.state.mode.meter_dead


def test_lighting_after_the_check_with_a_latch_ends_the_fire_at_once():
    """The lamp was on; the emergency button was pressed as the fire was lit."""
    rig = run_obeyed(cold_rig(), 5.0)
    run_obeyed(rig, 0.25, Requests(prepare=True))
    run_obeyed(rig, 242.0)
    assert rig.commands.may_light
    run_obeyed(rig, 0.25, Requests(emergency=True, lit=True))
    assert rig.phase == "shutdown"
    assert rig.commands.pump
    assert not rig.commands.damper_open


@pytest.mark.parametrize(
    "request_", [
        Requests(prepare=True), Requests(lit=True), Requests(finish=True), Requests(silence=True),
        Requests(reset=True), Requests(emergency=True), Requests(remote_unsafe=True),
        Requests(declare_out=True),
    ],
)
def test_nothing_starts_the_pump_in_the_lock_out(request_):
    rig = locked().start_water()
    for _ in range(200):
        rig.tick(request_)
        assert not rig.commands.pump


def test_the_way_out_is_cold_metal_a_full_tank_and_a_person():
    rig = locked()
    rig.run(3.0, Requests(reset=True))
    assert rig.phase == "dry lock-out"
    declared_out(rig)
    assert rig.state.mode.fire == NO
    rig.set(level_low=1.0).run(3.0, Requests(reset=True))
    assert rig.phase == "dry lock-out"
    rig.set(level_low=0.0).run(1.0).run(3.0, Requests(reset=True))
    assert rig.phase == "standby"
    assert rig.state.mode.coil == COLD
    assert "C11" not in rig.latched


def test_hot_metal_can_not_be_declared_out():
    rig = locked().set(coil_metal_c=300.0).run(5.0, Requests(declare_out=True))
    assert rig.state.mode.fire == YES


@pytest.mark.parametrize("lost", ["tank_c", "coil_outlet_a_c", "coil_outlet_b_c"])
def test_a_person_can_not_declare_out_what_no_thermometer_can_contradict(lost):
    rig = locked().set(**{lost: NAN})
    declared_out(rig)
    assert rig.state.mode.fire == YES
    rig.set(coil_outlet_a_c=30.0, coil_outlet_b_c=30.1, tank_c=23.0).run(5.0)
    declared_out(rig)
    assert rig.state.mode.fire == NO


def test_the_lock_out_survives_any_reboot():
    rig = locked()
    for _ in range(3):
        rig.state = after_reboot(rig.state)
        rig.start_water().set(pump_contact=1.0).run(5.0)
        assert rig.phase == "dry lock-out"
        assert not rig.commands.pump
        assert rig.state.mode.coil == MAYBE_DRY


# --- latches, silence ---


@pytest.mark.parametrize(
    "left", [{"dry": False, "latched": 0}, {"phase": SHUTDOWN, "dry": False},
             {"phase": SHUTDOWN, "latched": 0}],
    ids=["the phase", "a latched row", "the dry latch"],
)  # fmt: skip
def test_any_trace_of_the_lock_out_that_a_damaged_memory_keeps_locks_the_pump(left):
    """The phase, the dry latch and the latched row say the same; each of them is enough."""
    rig = locked()
    mode = rig.state.mode._replace(fire=NO, **left)
    rig.state = rig.state._replace(mode=mode)
    rig.set(**COLD_LOOP).run(1.0, Requests(emergency=True))
    assert not rig.commands.pump
    assert rig.state.mode.dry
    assert rig.state.mode.coil == MAYBE_DRY


@pytest.mark.parametrize("outage_s", [float("inf"), 1e308, 1e9])
def test_an_endless_outage_is_a_long_one(outage_s):
    """It once made every clock endless, and the board started anew in each tick."""
    rig = Rig(constants_of(), RUN, YES)
    rig.run(60.0)
    rig.state = after_reboot(rig.state)
    rig.set(outage_s=outage_s)
    rig.run(5.0)
    assert rig.phase != "boot"
    assert is_sound(rig.state)


def test_latches_are_reset_one_at_a_time_with_the_cause_gone():
    rig = Rig().settle().set(fan_a=0.0).run(10.0)
    rig.run(1.0, Requests(emergency=True))
    assert rig.latched == ["C22", "C32"]
    rig.run(3.0, Requests(reset=True))
    assert rig.latched == ["C22"]
    rig.run(5.0, Requests(reset=True))
    assert rig.latched == ["C22"]
    rig.set(fan_a=healthy(rig.constants).fan_a).run(1.0)
    rig.run(1.5, Requests(reset=True)).run(1.0)
    assert rig.latched == ["C22"]
    rig.run(2.5, Requests(reset=True))
    assert rig.latched == []
    assert rig.state.mode.first_out == -1
    assert rig.phase == "shutdown"


@pytest.mark.parametrize("button", ["silence", "remote_unsafe", "finish", "emergency"])
def test_no_other_button_resets(button):
    """Held for longer than the reset needs, with the cause gone."""
    rig = Rig().settle().set(fan_a=0.0).run(10.0)
    rig.set(fan_a=healthy(rig.constants).fan_a).run(1.0)
    assert rig.latched == ["C22"]
    rig.run(5.0, Requests(**{button: True}))
    assert "C22" in rig.latched


def test_first_out_is_kept_until_all_is_cleared():
    rig = Rig().settle().set(fan_a=0.0).run(10.0)
    first = rig.state.mode.first_out
    rig.set(level_low=1.0).run(20.0)
    assert rig.state.mode.first_out == first


def test_silence_moves_nothing_but_the_horn_and_ends_with_new_trouble():
    rig = Rig().settle()
    rig.run(1.0, Requests(emergency=True)).run(1.0)
    loud = rig.commands
    rig.tick(Requests(silence=True))
    assert rig.commands == loud._replace(horn=0)
    rig.run(298.0)
    assert rig.commands.horn == 0
    rig.run(5.0)
    assert rig.commands.horn == 3
    rig.tick(Requests(silence=True))
    rig.set(coil_outlet_a_c=NAN, coil_outlet_b_c=NAN).run(2.0)
    assert rig.commands.horn == 3


# --- boot ---


@pytest.mark.parametrize(
    ("phase", "expected"),
    [(WARM_UP, "warm-up"), (RUN, "warm-up"), (DUMP, "overheat dump"), (SHUTDOWN, "shutdown"),
     (DEGRADED, "shutdown")],
)
def test_a_watchdog_reset_is_invisible_to_the_water(phase, expected):
    rig = Rig(phase=phase).set(coil_outlet_a_c=30.0, coil_outlet_b_c=30.0, tank_c=29.0)
    if phase == DEGRADED:
        deafen(rig)
    rig.run(5.0)
    rig.state = after_reboot(rig.state)
    rig.tick()
    assert rig.commands.pump
    rig.run(3.0)
    assert rig.visited[-1] == expected
    assert rig.commands.pump


def test_latches_outlive_a_reboot_and_lead_to_shutdown():
    rig = Rig().settle()
    rig.run(1.0, Requests(emergency=True))
    rig.state = after_reboot(rig.state)
    rig.run(1.0)
    assert rig.phase == "shutdown"
    assert rig.latched == ["C32"]


@pytest.mark.parametrize(("share", "starts"), [(0.9, True), (1.1, False)])
def test_a_pump_found_off_starts_only_within_the_window(share, starts):
    """Not for one tick: nobody knows what the water met while the power was away."""
    rig = Rig().settle()
    window_s = rig.state.ages.window_s
    rig.state = after_reboot(rig.state)
    rig.set(pump_contact=0.0, outage_s=share * window_s, flow_lpm=0.0).tick()
    assert rig.commands.pump == starts


def test_a_fire_is_out_after_a_reboot_only_if_it_is_cold():
    cold = cold_rig()
    cold.state = after_reboot(cold.state)
    cold.run(1.0)
    assert cold.phase == "standby"
    warm = cold_rig().set(coil_metal_c=60.0, flue_c=60.0)
    warm.state = after_reboot(warm.state)
    warm.set(pump_contact=0.0).run(4.0)
    assert warm.state.mode.fire != NO
    unfitted = constants_of()._replace(
        fitted=constants_of().fitted._replace(metal=False, flue=False)
    )
    blind = Rig(unfitted, STANDBY, NO).set(**COLD_LOOP).set(flow_lpm=0.0)
    blind.state = after_reboot(blind.state)
    blind.run(1.0)
    assert blind.phase == "standby"


def test_two_reboots_in_a_row_keep_the_way_back():
    rig = Rig(phase=DUMP).run(2.0)
    rig.state = after_reboot(after_reboot(rig.state))
    rig.run(1.0)
    assert rig.phase == "overheat dump"


def test_a_lost_tank_thermometer_lets_go_after_ten_clean_minutes():
    rig = Rig().settle().set(tank_c=NAN).run(15.0)
    assert rig.phase == "degraded run"
    rig.set(tank_c=23.0).run(590.0)
    assert rig.phase == "degraded run"
    rig.run(15.0)
    assert rig.phase == "run"
    degraded = Rig(phase=DEGRADED)
    degraded.state = after_reboot(degraded.state)
    degraded.tick()
    assert degraded.phase == "degraded run"


def test_a_contradiction_stands_when_one_of_the_two_is_lost():
    """Even in the tick before it counts."""
    def contradicted():
        return Rig().settle().set(coil_outlet_a_c=20.0, coil_outlet_b_c=60.0)

    rig, ticks = contradicted(), 0
    while "C43" not in rig.rows:
        rig.tick()
        ticks += 1
    rig = contradicted()
    for _ in range(ticks - 1):
        rig.tick()
    assert "C43" not in rig.rows
    rig.set(coil_outlet_a_c=NAN).tick()
    assert "C43" in rig.rows


def test_a_contactor_that_cannot_be_read_leaves_the_pump_as_it_was():
    rig = Rig().settle()
    rig.state = after_reboot(rig.state)
    rig.set(pump_contact=NAN).tick()
    assert rig.commands.pump


def test_damaged_memory_restarts_with_a_fire_and_keeps_the_latches_it_can_read():
    for damage in ({"phase": 99}, {"fire": -1}, {"coil": 7}, {"first_out": 400}, {"came_from": -3}):
        rig = Rig().settle()
        rig.run(1.0, Requests(emergency=True))
        rig.state = rig.state._replace(mode=rig.state.mode._replace(**damage))
        rig.tick()
        assert rig.state.mode.fire in (YES, UNKNOWN)
        assert rig.latched == ["C32"]
        assert rig.commands.pump
    lost = Rig().settle()
    lost.state = lost.state._replace(ages=lost.state.ages._replace(still_s=NAN))
    lost.run(1.0)
    assert lost.visited[1:3] == ["warm-up", "run"]
    assert lost.commands.pump


# --- frost ---


def test_the_freeze_guard_cycles_the_pump_and_ends_when_the_lines_are_warm():
    rig = cold_rig().set(line_min_c=3.0)
    run_obeyed(rig, 2.0)
    assert rig.phase == "freeze guard"
    assert rig.commands.pump
    run_obeyed(rig, 180.0)
    assert rig.commands.pump
    run_obeyed(rig.set(line_min_c=5.0), 1.0)
    assert not rig.commands.pump
    rest_s = rig.constants.power.rest_s
    waited_s = rig.until(lambda r: r.commands.pump, rest_s + 5.0)
    assert rest_s - 5.0 <= waited_s <= rest_s + 0.5
    assert rig.commands.fans == 0.0
    rig.set(line_min_c=8.0)
    run_obeyed(rig, 905.0)
    assert rig.phase == "standby"
    run_obeyed(rig.set(line_min_c=3.0), 1.0)
    run_obeyed(rig, 0.5, Requests(prepare=True))
    assert rig.phase == "cold start"


def test_a_line_at_the_edge_keeps_the_water_moving():
    rig = cold_rig().set(line_min_c=0.5)
    run_obeyed(rig, 300.0)
    assert "C26" in rig.rows
    assert rig.commands.pump


def test_in_no_fire_state_nothing_moves():
    rig = cold_rig()
    run_obeyed(rig, 60.0)
    assert rig.rows == []
    assert rig.commands.fans == 0.0
    assert rig.commands.horn == 0
    assert (rig.state.mode.coil, rig.state.mode.fire) == (COLD, NO)
    assert rig.visited == ["standby"]


def test_phase_numbers_are_where_the_tables_say():
    assert [STANDBY, COLD_START, NO_FLOW, DRY, FREEZE] == [1, 2, 6, 7, 9]
