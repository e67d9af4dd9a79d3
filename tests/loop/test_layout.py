"""Forbidden layouts, missing hardware and soundness: each seen firing and not firing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from coilward.loop.derived import derive
from coilward.loop.layout import forbidden, missing, sound
from coilward.loop.model import Device, Joint
from coilward.loop.passive import PURPOSES, prevents_boiling_without_pump
from tests.loop.examples import TODAY, changed, reference_loop_a, shipped

NAMES = ("boathouse", "greenhouse", "hot-tub")


def keys(findings):
    return [finding.key for finding in findings]


def unsound(loop):
    return keys(sound(loop, derive(loop, TODAY)))


@pytest.mark.parametrize("name", NAMES)
def test_shipped_loops_are_sound(name):
    loop = shipped(name)
    assert forbidden(loop) == []
    assert unsound(loop) == []


@pytest.mark.parametrize("name", NAMES)
def test_shipped_loops_say_that_only_steam_gets_out(name):
    """None of them carries its whole fire without a pump: a person must be beside it."""
    (finding,) = missing(shipped(name), TODAY)
    assert finding.key == "nothing-prevents-boiling"
    assert finding.severity == "attend"
    assert "only lets the steam out" in finding.text


# Forbidden layouts --------------------------------------------------------------------------------


def with_path(*path):
    return changed(shipped("boathouse"), layout__path=list(path))


@pytest.mark.parametrize("closer", ["shut-off", "check-valve", "valve"])
def test_nothing_that_shuts_between_coil_and_vent(closer):
    after = with_path("tank", "pump", "meter", "coil", closer, "vent", "radiator", "tank")
    assert "valve-before-vent" in keys(forbidden(after))
    before = with_path("tank", "pump", "vent", closer, "coil", "radiator", "tank")
    assert "valve-before-vent" in keys(forbidden(before))


def test_a_closer_beyond_the_vent_is_allowed():
    loop = with_path("tank", "pump", "valve", "coil", "vent", "shut-off", "radiator", "tank")
    assert forbidden(loop) == []


def test_a_path_without_a_vent():
    loop = with_path("tank", "pump", "meter", "valve", "coil", "radiator", "tank")
    assert keys(forbidden(loop)) == ["no-vent"]


BOTH_ENDS = [
    (["tank", "check-valve", "pump", "coil", "shut-off", "vent", "radiator", "tank"], True),
    (["tank", "shut-off", "pump", "coil", "radiator", "shut-off", "tank"], True),
    (["tank", "check-valve", "pump", "coil", "vent", "shut-off", "radiator", "tank"], False),
    (["tank", "pump", "coil", "shut-off", "radiator", "tank"], False),
    (["tank", "shut-off", "vent", "pump", "coil", "shut-off", "radiator", "tank"], False),
]


@pytest.mark.parametrize(("path", "shut"), BOTH_ENDS)
def test_a_coil_that_can_be_shut_at_both_ends(path, shut):
    assert ("coil-shut-both-ends" in keys(forbidden(with_path(*path)))) is shut


def test_a_throttle_counts_as_closing_only_if_it_can_shut():
    path = ["tank", "pump", "valve", "coil", "shut-off", "radiator", "tank"]
    assert "coil-shut-both-ends" not in keys(forbidden(with_path(*path)))
    can_shut = changed(with_path(*path), valve__stop=0.0)
    assert "coil-shut-both-ends" in keys(forbidden(can_shut))


def test_a_tank_below_the_coil_drains_it():
    low = changed(shipped("boathouse"), layout__heights__tank_water_m=0.9)
    assert keys(forbidden(low)) == ["drains-back"]
    path = [*low.layout.path[:-1], "anti-drain", "tank"]
    assert forbidden(changed(low, layout__path=path)) == []


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"layout__vent_always_rising": False}, "vent-dip"),
        ({"layout__vent_freeze_safe": False}, "vent-freezes"),
        ({"layout__vent_bore_mm": 19.9}, "vent-narrow"),
        ({"layout__heights__vent_top_m": 1.6}, "vent-low"),
        ({"layout__heights__vent_top_m": 0.9}, "vent-low"),
    ],
)
def test_vents_that_hold_water_freeze_or_choke(changes, key):
    assert keys(forbidden(changed(shipped("boathouse"), **changes))) == [key]


def test_a_vent_of_just_the_least_bore_will_do():
    assert forbidden(changed(shipped("boathouse"), layout__vent_bore_mm=20.0)) == []


@pytest.mark.parametrize("alloy", ["sn50pb50", "sn60pb40", "sn95sb5", "sn97cu3", "sn96ag4"])
def test_soft_solder_in_the_fire(alloy):
    loop = changed(
        shipped("boathouse"), coil__joints=[Joint(zone="fire", alloy=alloy, name="elbow")]
    )
    (finding,) = forbidden(loop)
    assert finding.key == "soldered-joint-in-fire"
    assert "elbow" in finding.text
    near = changed(shipped("boathouse"), coil__joints=[Joint(zone="near", alloy=alloy)])
    assert forbidden(near) == []


def test_other_joints_in_the_fire():
    def joined(alloy):
        return changed(shipped("boathouse"), coil__joints=[Joint(zone="fire", alloy=alloy)])

    assert keys(forbidden(joined("compression"))) == ["compression-joint-in-fire"]
    assert forbidden(joined("brazed")) == []


def test_a_valve_that_can_shut():
    loop = shipped("boathouse")
    assert keys(forbidden(changed(loop, valve__stop=0.0))) == ["valve-can-shut"]
    assert forbidden(changed(loop, valve__stop=0.0, valve__bypass_lpm=1.5)) == []
    # A stop below the stroke at which the valve cracks open holds nothing open.
    assert keys(forbidden(changed(loop, valve__stop=0.04))) == ["valve-can-shut"]


def test_every_finding_says_what_why_and_what_to_do():
    loop = changed(
        with_path("tank", "check-valve", "pump", "coil", "shut-off", "vent", "radiator", "tank"),
        layout__vent_always_rising=False, layout__vent_freeze_safe=False, layout__vent_bore_mm=10.0,
        layout__heights__tank_water_m=0.5, layout__heights__vent_top_m=0.4, valve__stop=0.0,
        coil__joints=[Joint(zone="fire", alloy="sn50pb50")],
    )  # fmt: skip
    findings = forbidden(loop)
    assert len(findings) == 9
    for finding in findings:
        assert finding.severity == "stop"
        assert finding.text.count(". ") >= 2
        assert finding.text.endswith(".")


# Passive hardware ---------------------------------------------------------------------------------


@pytest.mark.parametrize("purpose", PURPOSES, ids=lambda purpose: purpose.name)
def test_absent_and_expired_devices_are_named(purpose):
    loop = shipped("boathouse")
    key = purpose.name.replace("_", "-")
    assert key not in keys(missing(loop, TODAY))
    absent = changed(loop, **{f"passive__{purpose.name}": None})
    old = Device(proven=TODAY - timedelta(days=400), proof_interval_days=365)
    future = Device(proven=TODAY + timedelta(days=1))
    for device, words in ((None, "is not fitted"), (old, "ran out"), (future, "not come yet")):
        loop_now = changed(absent, **{f"passive__{purpose.name}": device})
        found = {finding.key: finding for finding in missing(loop_now, TODAY)}
        assert words in found[key].text
        assert purpose.does in found[key].text
        assert found[key].severity == purpose.severity


def test_a_proof_ends_on_its_day():
    device = Device(proven=date(2026, 1, 1), proof_interval_days=10)
    loop = changed(shipped("boathouse"), passive__horn_battery=device)
    assert "horn-battery" not in keys(missing(loop, date(2026, 1, 11)))
    assert "horn-battery" in keys(missing(loop, date(2026, 1, 12)))


def test_no_vent_is_a_stop():
    loop = changed(shipped("boathouse"), passive__open_vent=None)
    assert {f.key: f.severity for f in missing(loop, TODAY)}["open-vent"] == "stop"


def test_a_bypass_replaces_the_stop():
    loop = changed(shipped("boathouse"), passive__valve_stop=None, valve__bypass_lpm=1.5)
    assert "valve-stop" not in keys(missing(loop, TODAY))


def test_a_tub_needs_no_fan_thermostat():
    assert shipped("hot-tub").passive.fan_thermostat is None
    assert "fan-thermostat" not in keys(missing(shipped("hot-tub"), TODAY))


@pytest.mark.parametrize("name", ["quench_coil", "gravity_dump"])
def test_what_carries_the_whole_fire_prevents_boiling(name):
    loop = shipped("boathouse")
    large = changed(loop, **{f"passive__{name}": Device(proven=TODAY, carries_kw=8.0)})
    assert missing(large, TODAY) == []
    assert prevents_boiling_without_pump(large, frozenset({name}))
    for carries in (7.9, None):
        small = changed(loop, **{f"passive__{name}": Device(proven=TODAY, carries_kw=carries)})
        (finding,) = missing(small, TODAY)
        assert finding.key == "nothing-prevents-boiling"
        assert name.replace("_", " ") in finding.text


def test_a_vent_smaller_than_the_fire():
    vent = Device(proven=TODAY, carries_kw=7.0)
    loop = changed(shipped("boathouse"), passive__open_vent=vent)
    assert "open-vent-small" in keys(missing(loop, TODAY))
    unknown = changed(loop, passive__open_vent=Device(proven=TODAY))
    assert "open-vent-small" not in keys(missing(unknown, TODAY))


def test_a_battery_that_lasts_too_short():
    loop = shipped("boathouse")  # 2.5 A pump and 0.3 A board: 2.8 Ah usable for an hour
    assert "pump-battery-small" in keys(missing(changed(loop, power__battery_ah=5.5), TODAY))
    assert "pump-battery-small" not in keys(missing(changed(loop, power__battery_ah=5.7), TODAY))


def test_a_second_proof_of_flow():
    bare = changed(shipped("boathouse"), sensors__flow_switch=False)
    assert "no-second-proof-of-flow" in keys(missing(bare, TODAY))
    quick = changed(bare, radiator__water_l=0.3, radiator__metal_kj_k=0.5)
    assert "no-second-proof-of-flow" not in keys(missing(quick, TODAY))


# Soundness ----------------------------------------------------------------------------------------


def test_reference_loop_a_is_not_sound():
    """3 L/min and 120 W/K: the tank settles above its own trip, and 8 kW held boils it."""
    loop = reference_loop_a()
    derived = derive(loop, TODAY)
    assert derived.flow_open_lpm == pytest.approx(3.0, abs=0.05)
    assert derived.tank_trip_c == pytest.approx(45.3, abs=0.7)
    assert derived.settled.nominal.tank_c > derived.tank_warn_c
    assert derived.settled.largest.outlet_c > derived.boil_c
    found = unsound(loop)
    assert "tank-settles-hot" in found
    assert "too-little-flow-largest" in found
    assert "largest-fire-too-hot" in found


def test_a_forbidden_layout_is_not_sound():
    assert unsound(changed(shipped("boathouse"), valve__stop=0.0)) == ["valve-can-shut"]


def test_the_tank_must_settle_three_kelvin_below_its_warning():
    """Turned by the pump's rating: trip, and with it the warning, 5 K under it."""
    loop = shipped("boathouse")
    settled = derive(loop, TODAY).settled.nominal.tank_c
    just = changed(loop, pump__rated_c=settled + 3 + 10 + 0.01)
    assert unsound(just) == []
    assert unsound(changed(loop, pump__rated_c=settled + 3 + 10 - 0.01)) == ["tank-settles-hot"]


def test_minimum_flow_with_reserve_must_be_there():
    loop = shipped("greenhouse")
    derived = derive(loop, TODAY)
    just = changed(loop, limits__least_flow_lpm=derived.flow_open_lpm / 1.15 - 1e-6)
    assert unsound(just) == []
    over = changed(loop, limits__least_flow_lpm=derived.flow_open_lpm / 1.15 + 1e-6)
    assert unsound(over) == ["too-little-flow-nominal", "too-little-flow-largest"]


def test_the_largest_fire_and_a_quarter_more_must_fit():
    loop = shipped("greenhouse")
    derived = derive(loop, TODAY)
    stream = derived.flow_open_lpm * derived.water_w_per_lpm_k
    needed = derived.settled.largest.tank_c + 1.25 * 18e3 / stream + 3
    found = unsound(changed(loop, limits__allowed_c=needed + 0.01))
    assert "largest-fire-too-hot" not in found
    found = unsound(changed(loop, limits__allowed_c=needed - 0.01))
    assert "largest-fire-too-hot" in found


def test_a_coil_that_boils_too_fast():
    loop = shipped("hot-tub")
    assert derive(loop, TODAY).boil_s.largest.peaked_est / 4 > 2
    short = changed(loop, coil__length_m=3.4)
    findings = {f.key: f for f in sound(short, derive(short, TODAY))}
    assert findings["boils-too-fast"].text.startswith(
        "This coil is too small or too hot to be protected by detection. "
        "Only passive hardware counts."
    )


def test_a_meter_that_is_too_slow():
    assert unsound(changed(shipped("boathouse"), meter__pulses_per_litre=100.0)) == [
        "meter-too-slow"
    ]


def test_a_tub_too_small_for_its_fire():
    found = unsound(changed(shipped("hot-tub"), tank__water_l=150.0))
    assert "tub-too-small" in found


def test_a_typed_trip_beyond_the_derived_one_cannot_unsound_the_outlet():
    """The outlet at the trip is what the trip is derived from: only a forged number breaks it."""
    loop = shipped("boathouse")
    derived = derive(loop, TODAY)
    assert unsound(changed(loop, limits__tank_trip_c=90.0)) == []
    forged = replace(derived, tank_trip_c=derived.tank_trip_c + 0.1)
    assert keys(sound(loop, forged)) == ["outlet-over-allowed"]


# The valve's settings ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["boathouse", "greenhouse"])
def test_settings_with_which_the_valve_would_swing_are_unsound(name):
    loop = shipped(name)
    assert unsound(changed(loop, throttle__gain=0.8)) == []
    (finding,) = sound(
        changed(loop, throttle__gain=4.0), derive(changed(loop, throttle__gain=4.0), TODAY)
    )
    assert finding.key == "throttle-swings"
    assert finding.severity == "stop"
    assert "swing by itself at a flow of" in finding.text
    assert unsound(changed(loop, throttle__gain_slope=2.0)) == ["throttle-swings"]
    quick = changed(loop, throttle__reset_transits=0.05, throttle__reset_lags=0.0)
    assert unsound(changed(quick, throttle__gain=0.6)) == ["throttle-swings"]


def test_a_tub_has_no_valve_that_could_swing():
    assert unsound(changed(shipped("hot-tub"), throttle__gain=4.0)) == []
