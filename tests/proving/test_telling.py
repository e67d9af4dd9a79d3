"""Temperature rows against what the thermometers show, on hand-made nights and real ones."""

from __future__ import annotations

import pytest

from coilward.controller.interlocks import bit
from coilward.controller.phases import BOOT, STANDBY
from coilward.proving.case import parse_case
from coilward.proving.results import violated
from coilward.proving.telling import late
from tests.loop.examples import shipped
from tests.proving.burns import changed, steady
from tests.proving.mistakes import wrong_and_sound
from tests.proving.test_requirements import bounds_for

TICK_S, SLUG_S, BELIEVED_S = 0.25, 20.0, 3.0
TRIPS = bounds_for(shipped("boathouse"))._replace(
    tick_s=TICK_S, slug_s=SLUG_S, outlet_dump_c=80.0, outlet_hh_c=90.0, tank_trip_c=50.0,
    tank_hh_c=60.0,
)
QUIET = steady(TRIPS, samples=400)
AT = 200
NAN = float("nan")
LIMIT_S = {"C03": 4.0, "C04": 2.0, "C05": 10.0, "C06": 10.0}
"""The rows' own limits, as the trade's table gives them."""
CAUSES = {
    "C03": {"outlet_a_seen_c": 80.0, "outlet_b_seen_c": 78.0},
    "C04": {"outlet_a_seen_c": 88.0, "outlet_b_seen_c": 90.0},
    "C05": {"tank_seen_c": 50.0}, "C06": {"tank_seen_c": 60.0},
}  # fmt: skip
BEFORE = {"C04": ("C03",), "C06": ("C05",)}
"""Rows whose cause is there as well."""


def night(*changes):
    """A quiet run with (from, until, values) changed."""
    signals = QUIET
    for begin, end, values in changes:
        signals = changed(signals, begin, end, **values)
    return signals


def told(*rows):
    return {"raised": float(sum(map(bit, rows)))}


def test_a_quiet_night_asks_nothing():
    assert late(night(), TRIPS) == []


@pytest.mark.parametrize("name", CAUSES)
def test_a_row_has_its_limit_and_the_time_to_be_believed(name):
    ticks = round((LIMIT_S[name] + BELIEVED_S) / TICK_S)
    cause, others = (AT, None, CAUSES[name]), BEFORE.get(name, ())
    before = (AT, None, told(*others))
    assert late(night(cause, before, (AT + ticks, None, told(name, *others))), TRIPS) == []
    assert late(night(cause, before, (AT + ticks + 1, None, told(name, *others))), TRIPS) == [name]
    assert late(night(cause, before), TRIPS) == [name]
    assert late(night((AT, AT + ticks, CAUSES[name])), TRIPS) == []


@pytest.mark.parametrize("change", [
    {"outlet_a_seen_c": 79.9, "outlet_b_seen_c": 79.0}, {"tank_seen_c": 49.9},
    {"outlet_a_seen_c": 95.0, "outlet_b_seen_c": 91.9},
    {"outlet_a_seen_c": 95.0, "outlet_b_seen_c": NAN},
])  # fmt: skip
def test_under_a_trip_and_where_thermometers_differ_nothing_is_asked(change):
    assert late(night((AT, None, change)), TRIPS) == []


def test_what_is_lost_counts_as_hot_where_nothing_stands_in():
    lost = {"outlet_a_seen_c": NAN, "outlet_b_seen_c": NAN}
    assert late(night((AT, None, lost)), TRIPS) == ["C03", "C04"]
    assert late(night((AT, None, {"tank_seen_c": NAN})), TRIPS) == []
    alone = {"tank_seen_c": NAN, "radiator_outlet_seen_c": NAN}
    assert late(night((AT, None, alone)), TRIPS) == ["C05", "C06"]
    assert late(night((AT, None, {"radiator_outlet_seen_c": NAN})), TRIPS) == []


@pytest.mark.parametrize("without", [
    {"phase": float(STANDBY)}, {"phase": float(BOOT)}, {"awake": 0.0},
])  # fmt: skip
def test_without_a_fire_or_a_board_nothing_is_asked(without):
    assert late(night((0, None, CAUSES["C05"] | without)), TRIPS) == []


def test_a_hot_slug_is_let_pass_at_the_dumps_trip_alone():
    """Twenty seconds of it, after the board or the water is back."""
    slug = (100, None, {"outlet_a_seen_c": 95.0, "outlet_b_seen_c": 95.0})
    back = (0, 100, {"phase": float(BOOT)})
    ticks = round((LIMIT_S["C03"] + BELIEVED_S) / TICK_S)
    passed = (100 + 80, None, told("C03", "C04"))
    assert late(night(back, slug, passed), TRIPS) == ["C04"]
    assert ticks < 80
    later = (100 + 81, None, told("C03", "C04"))
    assert late(night(back, slug, later), TRIPS) == ["C03", "C04"]


@pytest.mark.parametrize(("mistake", "key"), [
    ("outlet's trips in Fahrenheit", "damper-falls-open/0@1=1:950"),
    ("outlet's dump trip believed after ten times its debounce", "outlets-open/3@1"),
    ("unknown outlet is no outlet over its trip", "outlets-open/3@1"),
    ("unknown tank is no tank over its trip", "tank-open+radiator-outlet-open/1@1"),
])  # fmt: skip
def test_a_night_shows_a_row_that_is_late_or_missing(mistake, key):
    wrong, sound = wrong_and_sound(mistake)
    row = "C05" if "tank" in mistake else "C03"
    assert f"{row} did not tell in time" in violated(wrong.play(parse_case(key)))
    assert sound.play(parse_case(key)).missed == ()
