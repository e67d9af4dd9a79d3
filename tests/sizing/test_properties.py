"""What must hold for any loop: more cooling never worsens it, units tell the same."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilward.loop.derived import derive
from coilward.loop.units import convert
from coilward.sizing import changing
from coilward.sizing.comparing import compared
from coilward.sizing.margins import Margins, margins
from coilward.sizing.remedies import remedies, stopping
from coilward.sizing.sensitivity import effects
from tests.loop.examples import TODAY
from tests.properties.loops import loops
from tests.sizing.test_sized import judge, sized

PINT: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
IN_PINT = {
    "c": ("degC", "degF"), "k": ("delta_degC", "delta_degF"), "kw": ("kW", "kBtu_it/hour"),
    "w": ("W", "kBtu_it/hour"), "w_k": ("W/delta_degC", "Btu_it/hour/delta_degF"),
    "w_per_lpm_k": ("W/(L/min)/delta_degC", "Btu_it/hour/(gallon/min)/delta_degF"),
    "kg": ("kg", "lb"), "kg_h": ("kg/hour", "lb/hour"), "m3_h": ("m**3/hour", "foot**3/hour"),
    "l": ("L", "gallon"), "lpm": ("L/min", "gallon/min"), "m": ("m", "foot"), "s": ("s", "s"),
    "min": ("min", "min"), "h": ("hour", "hour"), "v": ("V", "V"), "ah": ("A*hour", "A*hour"),
}  # fmt: skip
few = settings(max_examples=40, deadline=None)


def both(loop, change, factor):
    other = change(loop, factor)
    return derive(loop, TODAY), derive(other, TODAY), other


@few
@given(loops(), st.floats(1.05, 4.0))
def test_more_radiator_never_worsens_anything(loop, factor):
    before, after, other = both(loop, changing.radiator, factor)
    assert after.settled.nominal.tank_c <= before.settled.nominal.tank_c + 1e-9
    assert after.settled.largest.outlet_c <= before.settled.largest.outlet_c + 1e-9
    for old, new in zip(margins(loop, before), margins(other, after), strict=True):
        assert new >= old - 1e-6 * abs(old) if math.isfinite(old) else new == old


@few
@given(loops(), st.floats(1.05, 3.0))
def test_a_faster_pump_moves_more_and_cools_the_outlet(loop, factor):
    before, after, _ = both(loop, changing.flow, factor)
    # Friction grows with less than the square of the flow, so the flow rises a little more.
    assert factor < after.flow_open_lpm / before.flow_open_lpm < 1.04 * factor
    assert after.settled.largest.outlet_c <= before.settled.largest.outlet_c + 1e-9
    assert after.boil_s.largest.peaked >= before.boil_s.largest.peaked - 1e-9


@few
@given(loops(), st.floats(0.2, 0.95))
def test_a_smaller_fire_never_worsens_anything(loop, factor):
    before, after, other = both(loop, changing.heat, factor)
    for old, new in zip(margins(loop, before), margins(other, after), strict=True):
        assert new >= old - 1e-6 * abs(old) if math.isfinite(old) else new == old


@few
@given(loops(), st.floats(1.05, 4.0))
def test_more_tank_or_dump_never_boils_sooner(loop, factor):
    for change in (changing.tank, changing.dump):
        before, after, _ = both(loop, change, factor)
        assert after.fans_off_stuck_boil_s >= before.fans_off_stuck_boil_s


@few
@given(loops(), st.floats(1.05, 3.0))
def test_a_longer_coil_holds_the_water_longer_at_the_same_outlet(loop, factor):
    before, after, _ = both(loop, changing.coil, factor)
    assert after.coil_heat_j_k == pytest.approx(factor * before.coil_heat_j_k)
    assert after.flow_open_lpm <= before.flow_open_lpm + 1e-9


@settings(max_examples=15, deadline=None)
@given(loops())
def test_against_itself_nothing_changes(loop):
    told = sized(loop).rows
    pairs = compared(told, told)
    assert [pair.row.key for pair in pairs] == [row.key for row in told]
    assert {pair.word for pair in pairs} == {"same"}


@settings(max_examples=15, deadline=None)
@given(loops())
def test_units_change_the_words_and_no_number(loop):
    """US output is the SI number converted, by pint's own table."""
    si, us = sized(loop, "si").rows, sized(loop, "us").rows
    for one, other in zip(si, us, strict=True):
        assert one.key == other.key
        assert one.value == other.value or math.isnan(one.value)
        if not math.isfinite(one.value):
            continue
        here, there = IN_PINT[one.unit]
        number, _ = convert(one.value, one.unit, "us")
        oracle = PINT.Quantity(one.value, here).to(there).magnitude
        assert number == pytest.approx(oracle, rel=1e-9, abs=1e-9), one.key


@settings(max_examples=15, deadline=None)
@given(loops())
def test_every_row_is_a_number_under_a_key_of_its_own(loop):
    told = sized(loop)
    assert len({row.key for row in told.rows}) == len(told.rows)
    for row in told.rows:
        assert not math.isnan(row.value), row.key


@settings(max_examples=10, deadline=None)
@given(loops(), st.floats(0.5, 2.5))
def test_a_remedy_that_is_enough_leaves_no_stop(loop, fire):
    loop = changing.heat(loop, fire)
    bad = stopping(judge(loop, derive(loop, TODAY)))
    for each in remedies(loop, TODAY, judge):
        assert each.enough == (not each.left)
        if not bad:
            assert each.factor in (1.25, 0.8)


@settings(max_examples=10, deadline=None)
@given(loops())
def test_an_input_that_is_told_moves_something(loop):
    base = margins(loop, derive(loop, TODAY))
    for effect in effects(loop, TODAY):
        assert Margins(*effect.low) != base or Margins(*effect.high) != base
