"""Derived numbers of the shipped loops, and how each moves with the loop."""

from __future__ import annotations

import dataclasses
import math
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilward.loop.derived import derive, passive_now, proven
from coilward.loop.explain import explain
from coilward.loop.limits import refused_limits
from coilward.loop.model import Device, Limits
from coilward.loop.safer import BOUNDS
from coilward.loop.units import show
from coilward.loop.water import boiling_c
from tests.loop.examples import TODAY, changed, shipped

TYPED = [bound for bound in BOUNDS if bound.typed]
NAMES = ("boathouse", "greenhouse", "hot-tub")


def of(name, **changes):
    return derive(changed(shipped(name), **changes), TODAY)


# The table of the shipped loops -------------------------------------------------------------------
# Rounded to 0.1 K; flows are met to 0.5 %, which is worth another 0.1 K of a 20 K rise.

TABLE = {
    # flow, outlet and tank at nominal, at largest, tank warn/trip/HH, outlet warn/dump/HH,
    # time to boil nominal/largest, window nominal/largest
    "boathouse": (
        6, (46.6, 34.4), (65.5, 46.1), (59.6, 64.6, 72.6), (75, 80, 89), (74, 29.6), (29.6, 11.8)
    ),
    "greenhouse": (
        12, (45.9, 31.3), (64.8, 43.0), (54.8, 59.8, 67.8), (72.7, 77.7, 86.7), (86, 36),
        (34.4, 14.4),
    ),
    "hot-tub": (
        10, (53.1, 40.0), (60.4, 40.0), None, (76, 81, 90), (79.5, 43), (31.8, 17.3)
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_shipped_loops_meet_their_table(name):
    flow, nominal, largest, tank, outlet, boils, windows = TABLE[name]
    d = of(name)
    assert d.flow_open_lpm == pytest.approx(flow, rel=0.005)
    assert d.settled.nominal[:2] == pytest.approx(nominal, abs=0.15)
    assert d.settled.largest[:2] == pytest.approx(largest, abs=0.15)
    if tank:
        assert (d.tank_warn_c, d.tank_trip_c, d.tank_hh_c) == pytest.approx(tank, abs=0.15)
    assert (d.outlet_warn_c, d.outlet_dump_c, d.outlet_hh_c) == pytest.approx(outlet, abs=0.06)
    assert d.boil_s.nominal.peaked == pytest.approx(boils[0], abs=1)
    assert d.boil_s.largest.peaked == pytest.approx(boils[1], abs=1)
    assert d.window_nominal_s == pytest.approx(windows[0], abs=0.4)
    assert d.window_largest_s == pytest.approx(windows[1], abs=0.4)


def test_tub_is_bound_by_people():
    d = of("hot-tub")
    assert d.tank_finish_c == pytest.approx(37.6, abs=0.05)
    assert d.tank_hh_c == 43
    assert d.tank_trip_c == 41
    assert d.tank_finish_c < d.tank_warn_c < d.tank_trip_c < d.tank_hh_c
    assert d.valve_always_open
    assert of("hot-tub", room__people_limit_c=39.0).tank_trip_c == 39
    assert of("hot-tub", room__people_limit_c=None).tank_trip_c == 41
    assert d.fans_off_peak_c is None
    assert d.fans_off_dump_peak_c is None
    assert d.fans_off_stuck_boil_s == math.inf


@pytest.mark.parametrize(
    ("name", "with_dump", "without", "stuck_min"),
    [("boathouse", 49.7, 54.0, 136), ("greenhouse", 48.5, 54.6, 88)],
)
def test_fans_off_against_the_simulated_table(name, with_dump, without, stuck_min):
    """The table's figures came from a simulation with losses; these are sums without."""
    d = of(name)
    assert d.fans_off_dump_peak_c == pytest.approx(with_dump, abs=0.7)
    assert d.fans_off_peak_c == pytest.approx(without, abs=1.3)
    assert d.fans_off_stuck_boil_s / 60 == pytest.approx(stuck_min, rel=0.06)


@pytest.mark.parametrize("name", ["boathouse", "greenhouse"])
def test_throttled_state_holds_the_set_point_or_the_stop(name):
    d = of(name)
    state = d.settled.throttled
    assert d.settled.nominal.outlet_c < state.outlet_c <= d.set_point_c + 1e-6
    assert d.flow_stop_lpm <= state.flow_lpm < d.flow_open_lpm
    # A hotter outlet leaves less time than the settled state with the valve open.
    assert d.boil_s.throttled.peaked < d.boil_s.nominal.peaked


# Laws ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_order_of_limits(name):
    d = of(name)
    assert d.set_point_c < d.outlet_warn_c < d.outlet_dump_c < d.outlet_hh_c < d.boil_c
    assert d.outlet_dump_c <= d.allow_c - 4
    assert d.tank_warn_c < d.tank_trip_c < d.tank_hh_c
    assert d.metal_high_c == d.coil_boil_c + 8
    assert d.metal_dry_c == 150
    assert d.low_flow_total_s <= 3
    assert d.pulse_timeout_s + d.low_flow_debounce_s <= d.low_flow_total_s
    assert d.window_largest_s == pytest.approx(d.boil_s.largest.peaked / 2.5)
    assert 0 <= d.retries <= 2
    assert d.valve_curve[8] == d.flow_open_lpm
    assert list(d.valve_curve) == sorted(d.valve_curve)


def test_estimate_is_in_windows_and_minimum_flow():
    d = of("greenhouse")
    needed = 1.25 * 18e3 / (d.water_w_per_lpm_k * (d.allow_c - d.settled.largest.tank_c))
    assert d.flow_min_largest_lpm == pytest.approx(needed)
    assert d.boil_s.nominal.peaked_est == pytest.approx(d.boil_s.nominal.peaked / 1.25)


def test_coil_above_the_tank_boils_earlier_and_below_it_no_later():
    usual = of("boathouse")
    high = of("boathouse", layout__heights__coil_top_m=2.6)
    assert usual.coil_boil_c == usual.boil_c
    assert high.boil_c == usual.boil_c
    assert usual.coil_boil_c - high.coil_boil_c == pytest.approx(2.8, abs=0.1)
    assert high.allow_c == high.coil_boil_c - 15


def test_poor_thermometer_lowers_the_allowed():
    usual, poor = of("boathouse"), of("boathouse", sensors__coil_outlet_b__error_k=4.0)
    assert usual.allow_c - poor.allow_c == pytest.approx(2.5)
    better = of("boathouse", sensors__coil_outlet_a__error_k=0.3)
    assert better.allow_c == usual.allow_c


def test_slow_surge_protection_lowers_the_latching_trip():
    """A slow thermometer and a fire that can jump far: E1 rules instead of boiling - 10 K."""
    d = of("boathouse", sensors__coil_outlet_a__lag_s=120.0)
    slope = 3000 / 60 / (d.flow_open_lpm * d.water_w_per_lpm_k)
    assert d.outlet_hh_c == pytest.approx(d.boil_c - 5 - 1.5 - slope * (120 + 2 + 0.25 + 3))
    assert d.outlet_dump_c <= d.outlet_hh_c - 5


def test_ratings_bound_the_tank():
    assert of("boathouse", pump__rated_c=60.0).tank_trip_c == 55
    assert of("boathouse", tank__rated_c=50.0).tank_trip_c == 45


def test_hose_bounds_the_dump():
    assert of("boathouse", limits__hose_rated_c=70.0).outlet_dump_c == 65


def test_meter_floor_and_turbulence_bound_the_least_flow():
    assert of("boathouse").flow_least_lpm == of("boathouse").flow_turbulent_lpm
    assert of("boathouse", meter__lowest_lpm=2.0).flow_least_lpm == 2
    narrow = of("boathouse", coil__outside_diameter_mm=10.0)
    assert narrow.flow_turbulent_lpm < narrow.flow_least_lpm == 1.0


def test_few_pulses_make_a_long_time_out():
    d = of("boathouse", meter__pulses_per_litre=100.0)
    assert d.pulse_timeout_s == pytest.approx(5 * 60 / (100 * d.flow_least_lpm))
    assert d.low_flow_debounce_s == 0.5


def test_rule_13_needs_a_thermometer_in_the_air_stream():
    assert math.isfinite(of("boathouse").rule13_s)
    assert of("boathouse", sensors__radiator_outlet__in_air_stream=False).rule13_s == math.inf
    assert of("boathouse", sensors__radiator_outlet=None).rule13_s == math.inf
    assert of("hot-tub").rule13_s == math.inf
    quick = of("boathouse", radiator__water_l=0.3, radiator__metal_kj_k=0.5)
    assert quick.rule13_in_window
    assert not of("boathouse").rule13_in_window


def test_frost_only_where_lines_freeze():
    cold = of("boathouse")
    assert {line.line for line in cold.freeze_s} == {"cold", "hot"}
    assert cold.pump_rest_s == min(line.cool_s for line in cold.freeze_s) / 2
    assert of("boathouse", site__outdoor_c=1.0).pump_rest_s == math.inf
    typed = of("boathouse", limits__pump_rest_min=5.0)
    assert typed.pump_rest_s == 300


def test_without_a_dump_only_the_fans_off_sum_is_left():
    d = of("boathouse", dump=None)
    assert d.settled.fans_off_dump is None
    assert d.fans_off_dump_peak_c is None
    assert d.dump_w == 0
    assert 0 < d.fans_off_stuck_boil_s < of("boathouse").fans_off_stuck_boil_s


@settings(max_examples=60, deadline=None)
@given(
    altitude=st.floats(-430, 4500), nominal=st.floats(0.3, 40), factor=st.floats(1, 3),
    kvs=st.floats(0.06, 60), on=st.floats(2, 5000), off=st.floats(0, 50), air=st.floats(-40, 45),
    length=st.floats(0.6, 100), water=st.floats(10, 10000), loss=st.floats(0, 200),
)  # fmt: skip
def test_derive_is_total(altitude, nominal, factor, kvs, on, off, air, length, water, loss):
    """Any loop that the file's ranges let through gives numbers, never an error or a NaN."""
    loop = changed(
        shipped("boathouse"), site__altitude_m=altitude, fire__nominal_kw=nominal,
        fire__largest_kw=nominal * factor, valve__kvs_m3h=kvs, radiator__fans_on_w_k=on,
        radiator__fans_off_w_k=off, room__air_c=air, coil__length_m=length, tank__water_l=water,
        lines__hot__loss_kpa=loss,
    )  # fmt: skip
    d = derive(loop, TODAY)
    for line in explain(loop, d):
        assert not math.isnan(line.value), line
    assert d.tank_trip_c <= d.allow_c - 1e3 * loop.fire.largest_kw / (
        d.flow_open_lpm * d.water_w_per_lpm_k
    ) + 1e-9
    assert d.window_largest_s >= 0
    assert 0 <= d.retries <= 2


# Passive hardware ---------------------------------------------------------------------------------


def test_a_device_counts_until_its_proof_runs_out():
    device = Device(proven=date(2026, 1, 1), proof_interval_days=30)
    assert proven(device, date(2026, 1, 1))
    assert proven(device, date(2026, 1, 31))
    assert not proven(device, date(2026, 2, 1))
    assert not proven(device, date(2025, 12, 31))
    assert not proven(None, date(2026, 1, 1))


def test_passive_of_a_day():
    loop = shipped("boathouse")
    assert "open_vent" in passive_now(loop, TODAY)
    assert "quench_coil" not in passive_now(loop, TODAY)
    assert passive_now(loop, TODAY + timedelta(days=4000)) == frozenset()
    assert derive(loop, TODAY).passive == passive_now(loop, TODAY)


# Typed limits -------------------------------------------------------------------------------------

SAFER = {"lower": -0.5, "higher": 0.5}


def test_every_typed_limit_has_a_rule_but_the_hose():
    assert {bound.typed for bound in TYPED} | {"hose_rated_c"} == set(Limits.model_fields)


@pytest.mark.parametrize("bound", TYPED, ids=lambda bound: bound.typed)
@pytest.mark.parametrize("name", NAMES)
def test_typed_limit_moves_only_to_the_safer_side(bound, name):
    bare = changed(shipped(name), limits=Limits())
    derived = bound.value(bare, derive(bare, TODAY))
    step = SAFER[bound.safer]
    safer = changed(bare, **{f"limits__{bound.typed}": derived + step})
    assert refused_limits(safer, TODAY) == []
    assert bound.value(safer, derive(safer, TODAY)) == pytest.approx(derived + step)
    worse = changed(bare, **{f"limits__{bound.typed}": derived - step})
    assert derive(worse, TODAY) == derive(bare, TODAY)
    (refused,) = refused_limits(worse, TODAY)
    assert refused.field == bound.typed
    assert refused.key.startswith("limits.")
    assert (refused.typed, refused.derived) == (derived - step, derived)


def test_a_typed_limit_pulls_the_ones_below_it_along():
    d = of("boathouse", limits__outlet_high_high_c=70.0)
    assert (d.outlet_hh_c, d.outlet_dump_c, d.outlet_warn_c) == (70, 65, 60)
    assert d.set_point_c <= 55
    tank = of("boathouse", limits__tank_high_high_c=50.0)
    assert (tank.tank_hh_c, tank.tank_trip_c, tank.tank_warn_c) == (50, 45, 40)


def test_a_limit_is_judged_against_the_other_typed_ones():
    typed = Limits(allowed="70 degC", outlet_dump="70 degC")
    loop = changed(shipped("boathouse"), limits=typed)
    assert [limit.key for limit in refused_limits(loop, TODAY)] == ["limits.outlet_dump"]


@pytest.mark.parametrize("name", NAMES)
def test_shipped_limits_are_accepted(name):
    assert refused_limits(shipped(name), TODAY) == []


# Explanation --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_number_is_explained(name):
    loop = shipped(name)
    derived = derive(loop, TODAY)
    lines = explain(loop, derived)
    said = [line.value for line in lines] + [60 * line.value for line in lines]
    for field in dataclasses.fields(derived):
        value = getattr(derived, field.name)
        if isinstance(value, float) and math.isfinite(value):
            assert any(math.isclose(value, other, rel_tol=1e-12) for other in said), field.name
    for line in lines:
        assert line.name
        assert line.formula
        assert line.reason.endswith(".")
        for system in ("si", "us"):
            assert show(line.value, line.unit, system)
    assert len({line.name for line in lines}) == len(lines)


def test_explanation_says_what_the_tub_does():
    loop = shipped("hot-tub")
    lines = {line.name: line for line in explain(loop, derive(loop, TODAY))}
    assert lines["tub finished"].value == pytest.approx(37.6, abs=0.05)
    assert "stays open" in lines["set-point"].reason
    room = shipped("boathouse")
    assert "tub finished" not in {line.name for line in explain(room, derive(room, TODAY))}


def test_boiling_at_the_sites():
    for name, altitude in (("boathouse", 300), ("greenhouse", 1000), ("hot-tub", 0)):
        assert of(name).boil_c == boiling_c(altitude)
