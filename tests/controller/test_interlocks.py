"""Every interlock seen tripping within its limit, and not tripping just short of its cause."""

from __future__ import annotations

import random

import pytest

from coilward.controller import interlocks
from coilward.controller.acting import overruled
from coilward.controller.interlocks import INDEX, ROWS, TIERS, bit, names
from coilward.controller.phases import (
    BOOT,
    DUMP,
    NO_FLOW,
    RUN,
    SHUTDOWN,
    STANDBY,
    WARM_UP,
)
from coilward.controller.state import NO, YES, after_reboot, first_state
from coilward.controller.types import Commands, Requests
from tests.controller.rig import NAN, Rig, constants_of, everything_fitted

LIMITS = constants_of().limits

# row, what is changed, longest time to the row in seconds, phase it must lead to (None: stays)
PROVOKED = [
    ("C01", {"flow_lpm": 0.9}, 3.0, "no-flow fault"),
    ("C01", {"pulse_age_s": 1.2}, 3.0, "no-flow fault"),
    ("C01", {"flow_lpm": NAN}, 3.0, "no-flow fault"),
    ("C02", {"pump_a": 0.0}, 2.0, "no-flow fault"),
    ("C02", {"pump_a": 60.0}, 2.0, "no-flow fault"),
    ("C03", {"coil_outlet_a_c": LIMITS.outlet_dump_c + 0.1}, 4.5, "overheat dump"),
    ("C03", {"coil_outlet_b_c": LIMITS.outlet_dump_c + 0.1}, 4.5, "overheat dump"),
    ("C04", {"coil_outlet_a_c": LIMITS.outlet_hh_c + 0.1}, 4.5, "shutdown"),
    ("C05", {"tank_c": LIMITS.tank_trip_c + 0.1}, 10.0, "overheat dump"),
    ("C06", {"tank_c": LIMITS.tank_hh_c + 0.1}, 10.0, "shutdown"),
    ("C07", {"tank_c": 79.0}, 15.0, "shutdown"),
    ("C09", {"coil_metal_c": LIMITS.metal_high_c + 0.1}, 3.0, "shutdown"),
    ("C13", {"coil_outlet_a_c": NAN}, 4.0, None),
    ("C13", {"coil_outlet_b_c": -127.0}, 4.0, None),
    ("C13", {"coil_outlet_b_c": 64.0}, 5.0, None),
    ("C15", {"tank_c": NAN}, 10.0, "degraded run"),
    ("C21", {"fan_a": 3.0}, 10.0, None),
    ("C22", {"fan_a": 0.0}, 10.0, "shutdown"),
    ("C22", {"fan_a": NAN}, 10.0, "shutdown"),
    ("C22", {"radiator_outlet_c": 55.0}, 135.0, "shutdown"),
    ("C23", {"level_low": 1.0}, 15.0, "shutdown"),
    ("C24", {"level_low_low": 1.0}, 4.0, "shutdown"),
    ("C25", {"vent_wet": 1.0}, 3.0, "shutdown"),
    ("C26", {"line_min_c": 0.9}, 60.0, None),
    ("C27", {"co_ppm": 100.0}, 15.0, "shutdown"),
    ("C28", {"smoke": 1.0}, 3.0, "shutdown"),
    ("C29", {"supply_v": 11.2}, 35.0, "shutdown"),
    ("C36", {"constants_ok": 0.0}, 5.0, "degraded run"),
    ("C36", {"constants_ok": NAN}, 5.0, "degraded run"),
    ("C38", {"room_c": 40.0}, 60.0, "overheat dump"),
    ("C41", {"pump_a": NAN}, 10.0, None),
    ("C41", {"flow_switch": NAN}, 10.0, None),
    ("C41", {"coil_metal_c": NAN}, 10.0, None),
    ("C41", {"level_low_low": NAN}, 10.0, None),
    ("C41", {"supply_v": NAN}, 10.0, None),
]

JUST_SHORT = [
    ("C01", {"flow_lpm": 1.0}),
    ("C02", {"pump_a": constants_of().power.pump_low_a}),
    ("C03", {"coil_outlet_a_c": LIMITS.outlet_dump_c - 0.1}),
    ("C04", {"coil_outlet_a_c": LIMITS.outlet_hh_c - 0.1}),
    ("C05", {"tank_c": LIMITS.tank_trip_c - 0.1}),
    ("C06", {"tank_c": LIMITS.tank_hh_c - 0.1}),
    ("C09", {"coil_metal_c": LIMITS.metal_high_c - 0.1}),
    ("C13", {"coil_outlet_b_c": 62.9}),
    ("C21", {"fan_a": 5.9}),
    ("C23", {"level_low": 0.0}),
    ("C25", {"vent_wet": 0.0}),
    ("C26", {"line_min_c": 1.1}),
    ("C27", {"co_ppm": 99.0}),
    ("C28", {"smoke": 0.0}),
    ("C29", {"supply_v": 11.4}),
    ("C36", {"constants_ok": 1.0}),
    ("C38", {"room_c": 39.9}),
]


@pytest.mark.parametrize(("name", "change", "limit_s", "phase"), PROVOKED)
def test_trips_in_time(name, change, limit_s, phase):
    rig = Rig(everything_fitted()).settle()
    assert rig.rows == []
    rig.set(**change)
    rig.until(lambda r: name in r.rows, limit_s)
    if phase is None:
        assert rig.phase == "run"
    else:
        rig.until(lambda r: r.phase == phase, 60.0)
    row = ROWS[INDEX[name]]
    assert (name in rig.latched) == (row.latch == "person")
    if phase not in ("dry lock-out",):
        assert rig.commands.pump


@pytest.mark.parametrize(("name", "change"), JUST_SHORT)
def test_does_not_trip_just_short(name, change):
    rig = Rig(everything_fitted()).settle()
    rig.set(**change).run(150.0)
    assert name not in rig.rows


def test_both_outlets_lost_ends_the_fire_on_full_cooling():
    rig = Rig().settle().set(coil_outlet_a_c=NAN, coil_outlet_b_c=NAN)
    rig.until(lambda r: "C14" in r.rows, 5.0)
    rig.run(2.0)
    assert rig.phase == "shutdown"
    assert rig.commands.pump
    assert rig.commands.dump_open
    assert rig.commands.valve == 1.0
    assert not rig.commands.damper_open


def test_c08_a_rise_that_no_fire_can_make():
    rig = Rig().settle()
    rate = constants_of().limits.outlet_rate_k_s
    for second in range(10):
        step = 60.0 + 1.3 * rate * second
        if step >= LIMITS.outlet_dump_c:
            break
        rig.set(coil_outlet_a_c=step, coil_outlet_b_c=step).run(1.0)
    rig.run(1.0)
    assert "C08" in rig.rows
    slow = Rig().settle()
    for second in range(20):
        step = 60.0 + 0.6 * rate * second
        if step >= LIMITS.outlet_dump_c - 1.0:
            break
        slow.set(coil_outlet_a_c=step, coil_outlet_b_c=step).run(1.0)
    assert "C08" not in slow.rows


def test_c10_needs_metal_no_flow_and_the_no_flow_row():
    hot = {"coil_metal_c": 151.0}
    flowing = Rig().settle().set(**hot).run(10.0)
    assert "C10" not in flowing.rows
    assert flowing.commands.pump
    dry = Rig().settle().stop_water("as before").set(**hot)
    dry.until(lambda r: "C10" in r.rows, 4.0)
    dry.run(0.5)
    assert dry.phase == "dry lock-out"
    assert not dry.commands.pump


def test_c11_ends_the_refill_window_and_holds_valve_and_dump():
    rig = Rig().settle().stop_water()
    rig.until(lambda r: r.phase == "no-flow fault", 3.0)
    held = rig.commands
    assert held.dump_open
    assert held.valve == 1.0
    stood_s = rig.until(lambda r: r.phase == "dry lock-out", 60.0)
    window_s = rig.state.ages.window_s
    assert stood_s <= window_s + 0.5
    assert "C11" in rig.rows
    assert not rig.commands.pump
    assert rig.commands.valve == held.valve
    assert rig.commands.dump_open == held.dump_open


def test_c12_a_power_cut_longer_than_the_window_locks_the_pump_off():
    rig = Rig().settle()
    rig.state = after_reboot(rig.state)
    rig.set(outage_s=900.0, pump_contact=0.0, pump_a=0.0, flow_lpm=0.0, pulse_age_s=900.0)
    rig.until(lambda r: r.phase == "dry lock-out", 5.0)
    assert "C12" in rig.rows
    assert not rig.commands.pump
    rig.start_water().set(pump_contact=1.0).run(600.0)
    assert rig.phase == "dry lock-out"


def test_a_short_known_outage_starts_the_pump_at_once():
    rig = Rig().settle()
    rig.state = after_reboot(rig.state)
    rig.set(outage_s=2.0, pump_contact=0.0, pump_a=0.0, flow_lpm=0.0, pulse_age_s=3.0)
    rig.tick()
    assert rig.commands.pump
    assert "C12" not in rig.rows


def test_c17_a_dead_meter_never_stops_the_pump():
    rig = Rig().settle().set(flow_lpm=0.0, pulse_age_s=100.0)
    rig.until(lambda r: "C17" in r.rows, 30.0)
    rig.run(1800.0)
    assert rig.phase == "degraded run"
    assert rig.commands.pump
    assert "C01" not in rig.rows[1:]


def test_c19_a_valve_that_does_not_follow():
    rig = Rig().settle(60.0)
    rig.set(flow_lpm=rig.readings.flow_lpm).outlet(66.0)
    rig.until(lambda r: "C19" in r.rows, 200.0)
    rig.tick()
    assert rig.phase == "degraded run"
    assert "C19" in rig.latched


def test_c19_stays_quiet_while_the_flow_answers():
    rig = Rig().settle(60.0)
    for to_c in (64.0, 55.0, 66.0, 57.0):
        rig.outlet(to_c).run(100.0)
    assert "C19" not in rig.rows


def test_c20_a_flow_that_opening_does_not_restore():
    rig = Rig(phase=WARM_UP).settle(60.0).set(flow_lpm=3.0, tank_c=45.0)
    rig.until(lambda r: "C20" in r.rows, 30.0)
    assert rig.commands.pump
    rig.until(lambda r: r.phase == "overheat dump", 1.0)


def test_c32_the_emergency_button_never_stops_the_water():
    for phase in (WARM_UP, RUN, DUMP, SHUTDOWN):
        rig = Rig(phase=phase).settle(20.0)
        rig.tick(Requests(emergency=True))
        rig.tick(Requests(emergency=True))
        assert rig.commands.pump
        assert rig.commands.valve == 1.0
        assert rig.commands.fans == 1.0
        assert rig.commands.dump_open
        assert not rig.commands.damper_open
        assert rig.commands.horn == 3
        assert "C32" in rig.latched
        rig.run(2.0)
        assert rig.phase == "shutdown"


def test_c33_refuses_and_moves_nothing():
    rig = Rig().settle()
    before = rig.commands
    rig.tick(Requests(remote_unsafe=True))
    assert "C33" in rig.rows
    assert rig.commands == before._replace(horn=1)


def test_c34_heat_without_permission():
    rig = Rig(phase=STANDBY, fire=NO)
    rig.stop_water("open").set(flue_c=20.0, coil_metal_c=20.0, tank_c=15.0)
    rig.set(coil_outlet_a_c=15.0, coil_outlet_b_c=15.0).run(5.0)
    assert not rig.commands.pump
    rig.set(flue_c=90.0)
    rig.tick()
    assert rig.commands.pump
    rig.start_water()
    rig.until(lambda r: r.phase == "shutdown", 15.0)
    assert "C34" in rig.rows


def test_c37_the_fourth_dump_in_an_hour_and_a_dump_that_does_not_cool():
    rig = Rig().settle()
    for _ in range(4):
        rig.outlet(LIMITS.outlet_dump_c + 1.0)
        rig.until(lambda r: r.phase in ("overheat dump", "shutdown"), 5.0)
        rig.outlet(60.0).run(305.0)
    assert "C37" in rig.rows
    assert rig.phase == "shutdown"
    stuck = Rig().settle()
    stuck.outlet(LIMITS.outlet_dump_c + 1.0)
    stuck.until(lambda r: "C37" in r.rows, 300.0)


def test_c42_water_that_stops_twice_within_an_hour():
    rig = Rig().settle()
    for expected in ("run", "shutdown"):
        rig.stop_water()
        rig.until(lambda r: r.phase == "no-flow fault", 3.0)
        rig.start_water()
        rig.until(lambda r, e=expected: r.phase == e, 10.0)
        rig.run(60.0)
    assert "C42" in rig.latched


def test_the_table_keeps_its_own_rules():
    assert len(set(INDEX)) == len(ROWS) <= 62
    for row in ROWS:
        assert row.tier in TIERS
        assert row.happened.endswith(".")
        assert row.machine.endswith(".")
        assert row.person.endswith(".")
        assert row.why.endswith(".")
        assert not (row.pump == "off" and row.tier != "dry"), row.name
        assert row.rank in (1, 2, 3)
        assert row.horn == {1: 3, 2: 2, 3: 1}[row.rank], row.name


def by_tiers(base: Commands, active: int, control) -> Commands:
    """The plain reading of the table: walk the tiers from the lowest to the highest."""
    said = base
    for tier in reversed(TIERS):
        for row in (r for r in ROWS if r.tier == tier and active >> INDEX[r.name] & 1):
            if row.pump != "=":
                said = said._replace(pump=row.pump == "on")
            if row.valve != "=":
                said = said._replace(valve=1.0 if row.valve == "open" else control.valve)
            if row.fans != "=":
                share = {"full": 1.0, "half": max(said.fans, 0.5), "off": 0.0}[row.fans]
                said = said._replace(fans=share)
            if row.damper == "shut":
                said = said._replace(damper_open=False)
            if row.dump != "=":
                said = said._replace(
                    dump_open=True if row.dump == "open" else control.dump_open
                )
            said = said._replace(horn=max(said.horn, row.horn))
    return said


def test_masks_do_what_the_tiers_say():
    rng = random.Random(3)
    control = first_state(constants_of(), RUN, YES).control._replace(valve=0.37)
    base = Commands(True, 0.6, 0.0, True, False, 0, False)
    for _ in range(3000):
        active = sum(1 << i for i in rng.sample(range(len(ROWS)), rng.randint(0, 6)))
        assert overruled(base, active, RUN, control) == by_tiers(base, active, control), names(
            active
        )


def test_bit_and_names_are_each_others_inverse():
    for row in ROWS:
        assert names(bit(row.name)) == [row.name]
    assert names(interlocks.LATCH_DRY) == ["C10", "C11", "C12"]


def test_no_flow_is_where_a_stop_leads_and_boot_is_no_excuse():
    rig = Rig().settle()
    rig.state = after_reboot(rig.state)
    assert rig.state.mode.phase == BOOT
    rig.stop_water().set(pump_contact=1.0)
    rig.until(lambda r: r.state.mode.phase == NO_FLOW, 4.0)
