"""What the columns of the table say beside the actuators: channel, fire out, return, by name."""

from __future__ import annotations

import pytest

from coilward.controller.interlocks import (
    EVERY_ROW,
    LAST_ROW,
    MASKS,
    ROWS,
    bit,
    mask_of,
    names,
)
from coilward.controller.phases import RUN, STANDBY
from coilward.controller.state import NO, YES
from tests.controller.rig import NAN, Rig, everything_fitted
from tests.controller.scenes import COLD_LOOP

HANGS_ON = {
    "outlet": ("C03", "C04", "C08", "C43"), "tank": ("C05", "C06"), "metal": ("C09",),
    "level": ("C23", "C24"), "supply": ("C29",), "line": ("C26",), "current": ("C02",),
    "co": ("C27", "C45"), "smoke": ("C28",), "vent": ("C25",), "damper": ("C35",),
    "people": ("C38",), "radiator": ("C39",),
}
CHANNEL = {
    "outlet": "coil_outlet_a_c", "tank": "tank_c", "metal": "coil_metal_c", "level": "level_low",
    "supply": "supply_v", "line": "line_min_c", "current": "pump_a", "co": "co_ppm",
    "smoke": "smoke", "vent": "vent_wet", "damper": "damper_shut", "people": "room_c",
    "radiator": "radiator_outlet_c",
}
LOSSES = ("C13", "C15", "C41")
"""Rows about a channel that is lost."""
WITH_THE_FIRE_OUT = ["C16", "C26", "C27", "C28", "C32", "C33", "C41", "C44", "C45"]
RETURNING = ["C13", "C15", "C18", "C41", "C43", "C44", "C46"]


def test_every_row_hangs_on_the_channel_that_judges_it_or_on_none():
    told = {row.name: row.hangs_on for row in ROWS if row.hangs_on}
    assert told == {name: channel for channel, rows in HANGS_ON.items() for name in rows}


@pytest.mark.parametrize("column", ["any_time", "returns"])
def test_the_rows_that_count_with_the_fire_out_and_those_that_let_go_late(column):
    expected = {"any_time": WITH_THE_FIRE_OUT, "returns": RETURNING}[column]
    assert [row.name for row in ROWS if getattr(row, column)] == expected


def test_a_mask_holds_each_row_with_one_of_its_values_and_no_other():
    for name, (column, *values) in MASKS.items():
        for row in ROWS:
            held = mask_of(name) & bit(row.name) != 0
            assert held == (getattr(row, column) in values), (name, row.name)
    assert names(mask_of("LATCHING")) == [row.name for row in ROWS if row.latch != "no"]


@pytest.mark.parametrize("channel", HANGS_ON)
def test_a_row_that_counts_stands_while_its_channel_is_lost_and_no_other_does(channel):
    """Each row is told to have counted before; the readings that are left say that all is well."""
    for row in ROWS:
        rig = Rig(everything_fitted(), RUN, YES).settle(30.0)
        rig.state = rig.state._replace(seen=rig.state.seen | bit(row.name))
        rig.set(**{CHANNEL[channel]: NAN}).tick()
        stands = rig.state.seen & bit(row.name) != 0
        if row.name not in LOSSES:
            assert stands == (row.hangs_on == channel), row.name


def out_and_still() -> Rig:
    return Rig(everything_fitted(), STANDBY, NO).set(**COLD_LOOP).set(flow_lpm=0.0)


@pytest.mark.parametrize("channel", ["outlet", "tank", "metal", "level", "supply", "vent"])
def test_with_the_fire_out_only_rows_that_always_count_stand(channel):
    for name in HANGS_ON[channel]:
        rig = out_and_still().run(5.0)
        rig.state = rig.state._replace(seen=rig.state.seen | bit(name))
        rig.set(**{CHANNEL[channel]: NAN}).tick()
        assert rig.state.seen & bit(name) == 0, name


def test_a_lost_witness_and_a_jump_of_the_clock_are_told_with_the_fire_out():
    rig = out_and_still().run(5.0)
    rig.set(flow_switch=NAN).run(11.0)
    assert names(rig.state.raised) == ["C41"]
    rig.time_s += 60.0
    rig.tick()
    assert names(rig.state.raised) == ["C41", "C44"]
    rig.tick()
    assert names(rig.state.raised) == ["C41"]


def test_the_mask_of_every_row_has_each_and_no_more():
    assert sum(bit(row.name) for row in ROWS) == EVERY_ROW
    assert names(EVERY_ROW) == [row.name for row in ROWS]
    assert bit(ROWS[-1].name) == 1 << LAST_ROW
