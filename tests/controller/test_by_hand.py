"""Maintenance with the key, and hands on the outputs while a fire is in."""

from __future__ import annotations

import pytest

from coilward.controller.interlocks import names
from coilward.controller.phases import FREEZE, RUN, STANDBY
from coilward.controller.state import NO, after_reboot
from coilward.controller.types import Requests
from tests.controller.rig import NAN, Rig, constants_of
from tests.controller.scenes import COLD_LOOP, cold_rig, locked, obey, run_obeyed

KEY = Requests(key=True)
HANDS = ("hand_pump", "hand_valve", "hand_fans", "hand_dump", "hand_damper")


def hand(*names: str, key: bool = False) -> Requests:
    return Requests(key=key, **dict.fromkeys(names, True))


def maintained(name: str = "greenhouse") -> Rig:
    return run_obeyed(cold_rig(name), 0.5, KEY)


# --- maintenance ---


def test_the_key_opens_maintenance_only_with_the_fire_out_and_a_coil_known_to_be_cold():
    assert maintained().phase == "maintenance"
    for change in ({"coil_metal_c": 50.0}, {"coil_metal_c": NAN}):
        assert cold_rig().set(**change).run(5.0, KEY).phase == "standby"
    assert Rig().settle().run(5.0, KEY).phase == "run"
    guard = cold_rig().set(line_min_c=3.0).run(1.0)
    assert guard.state.mode.phase == FREEZE
    assert guard.run(0.5, KEY).phase == "maintenance"


def test_without_a_thermometer_on_the_metal_the_outlet_tells_the_coil():
    constants = constants_of()
    blind = constants._replace(fitted=constants.fitted._replace(metal=False))
    rig = Rig(blind, STANDBY, NO).set(**COLD_LOOP).set(flow_lpm=0.0)
    assert rig.run(0.5, KEY).phase == "maintenance"
    warm = Rig(blind, STANDBY, NO).set(**COLD_LOOP).set(flow_lpm=0.0)
    warm.set(coil_outlet_a_c=51.0, coil_outlet_b_c=51.0, flue_c=5.0)
    assert warm.run(5.0, KEY).phase == "standby"


def test_each_output_leaves_its_rest_while_it_is_held():
    rig = maintained()
    stop = rig.constants.valve.stop
    rest = (False, 1.0, 0.0, False, False)
    moved = {
        "hand_pump": (True, 1.0, 0.0, False, False), "hand_valve": (False, stop, 0.0, False, False),
        "hand_fans": (False, 1.0, 1.0, False, False), "hand_dump": (False, 1.0, 0.0, False, True),
        "hand_damper": (False, 1.0, 0.0, True, False),
    }
    for name in HANDS:
        run_obeyed(rig, 3.0, hand(name, key=True))
        assert tuple(rig.commands)[:5] == moved[name], name
        run_obeyed(rig, 1.0, KEY)
        assert tuple(rig.commands)[:5] == rest, name
    assert rig.rows == []
    assert rig.phase == "maintenance"


def test_a_stuck_button_lets_go_after_a_minute_and_is_told():
    rig = run_obeyed(maintained(), 59.0, hand("hand_pump", key=True))
    assert rig.commands.pump
    run_obeyed(rig, 2.0, hand("hand_pump", key=True))
    assert not rig.commands.pump
    assert "C33" in rig.rows
    run_obeyed(rig, 60.0, hand("hand_pump", key=True))
    assert not rig.commands.pump
    run_obeyed(run_obeyed(rig, 1.0, KEY), 5.0, hand("hand_pump", key=True))
    assert rig.commands.pump


@pytest.mark.parametrize("change", [{"level_low_low": 1.0}, {"level_low_low": NAN}])
def test_an_empty_tank_stops_the_pump_in_maintenance(change):
    rig = run_obeyed(maintained(), 10.0, hand("hand_pump", key=True))
    run_obeyed(rig.set(**change), 1.0, hand("hand_pump", key=True))
    assert not rig.commands.pump
    assert "C33" in rig.rows


def test_a_wrong_current_stops_the_pump_in_maintenance_until_the_button_is_let_go():
    rig = run_obeyed(maintained(), 10.0, hand("hand_pump", key=True))
    rig.set(pump_a=2.0 * rig.constants.power.pump_high_a).tick(hand("hand_pump", key=True))
    assert not rig.commands.pump
    run_obeyed(rig, 30.0, hand("hand_pump", key=True))
    assert not rig.commands.pump
    assert rig.phase == "maintenance"


def test_no_row_starts_the_pump_in_maintenance():
    rig = maintained().set(line_min_c=0.5)
    run_obeyed(rig, 60.0, KEY)
    assert "C26" in rig.rows
    assert not rig.commands.pump
    run_obeyed(rig, 2.0, Requests(key=True, emergency=True))
    assert not rig.commands.pump
    assert rig.commands.horn == 3


def test_any_sign_of_heat_leads_out_of_maintenance_with_the_water_moving():
    rig = maintained().set(flue_c=90.0)
    rig.tick(KEY)
    assert rig.commands.pump
    for _ in range(60):
        obey(rig)
        rig.tick(KEY)
    assert rig.phase == "shutdown"
    assert "C34" in rig.rows


def test_the_key_off_leads_to_standby_and_a_full_check():
    rig = run_obeyed(maintained(), 1.0)
    assert rig.phase == "standby"
    again = maintained()
    again.state = after_reboot(again.state)
    assert again.run(0.5).phase == "standby"


# --- hands while a fire is in ---


def test_hands_move_outputs_to_the_safer_side_and_no_further():
    rig = Rig().settle()
    before = rig.commands
    assert before.valve < 1.0
    assert before.damper_open
    rig.run(2.0, hand(*HANDS))
    assert rig.phase == "run"
    assert rig.commands == before._replace(valve=1.0, fans=1.0, damper_open=False, dump_open=True)
    assert rig.rows == []
    rig.run(10.0)
    assert rig.commands.damper_open
    assert rig.commands.dump_open
    rig.run(60.0)
    assert not rig.commands.dump_open


def test_one_hand_moves_one_output():
    for name, field, value in (
        ("hand_valve", "valve", 1.0), ("hand_dump", "dump_open", True),
        ("hand_damper", "damper_open", False), ("hand_fans", "fans", 1.0),
    ):
        rig = Rig().set(radiator_inlet_c=30.0).settle()
        before = rig.commands
        rig.tick(hand(name))
        assert rig.commands == before._replace(**{field: value})


def test_a_hold_is_given_back_after_a_minute():
    rig = Rig().settle().run(62.0, hand("hand_dump"))
    assert not rig.commands.dump_open
    assert "C33" in rig.rows


@pytest.mark.parametrize("name", ["hand_pump", "hand_valve", "hand_dump"])
def test_hands_move_nothing_in_the_dry_lock_out(name):
    rig = locked()
    before = rig.commands
    rig.run(5.0, hand(name))
    assert rig.commands == before
    assert "C33" in rig.rows


def test_fans_and_damper_may_be_held_in_the_lock_out_where_they_are_anyway():
    rig = locked()
    before = rig.commands
    rig.run(5.0, hand("hand_fans", "hand_damper"))
    assert rig.commands == before
    assert "C33" not in rig.rows


def test_without_the_key_hands_do_nothing_while_the_fire_is_out():
    rig = cold_rig().run(1.0)
    before = rig.commands
    rig.run(2.0, hand("hand_pump"))
    assert rig.commands == before._replace(horn=1)
    assert "C33" in rig.rows


def test_hands_leave_a_boot_alone():
    rig = Rig(phase=RUN).settle()
    rig.state = after_reboot(rig.state)
    rig.set(pulse_age_s=9.0, flow_lpm=0.0)
    rig.tick()
    before = rig.commands
    rig.tick(hand("hand_valve", "hand_fans"))
    assert rig.commands == before


@pytest.mark.parametrize("asked", HANDS)
def test_a_fire_seen_in_maintenance_leaves_hands_only_the_safer_side(asked):
    """From the very tick that sees it, before the row of heat without leave has counted."""
    rig = maintained().set(coil_metal_c=80.0)
    rig.tick(hand(asked, key=True))
    assert rig.phase == "maintenance"
    assert rig.state.mode.fire != NO
    assert rig.commands.valve == 1.0
    assert not rig.commands.damper_open
    assert rig.commands.pump
    assert "C33" not in rig.rows


def test_a_bad_current_refuses_the_pump_by_hand_only_while_no_fire_is_in():
    rig = run_obeyed(maintained(), 10.0, hand("hand_pump", key=True))
    assert rig.state.control.hand_s == 10.0
    held = rig.state
    rig.set(pump_a=0.0).tick(hand("hand_pump", key=True))
    assert "C33" in names(rig.state.seen)
    rig.state = held
    rig.set(coil_metal_c=80.0).tick(hand("hand_pump", key=True))
    assert rig.commands.pump
    assert "C33" not in names(rig.state.seen)
