"""Each row that counts on hardware: without it the simulated coil boils, with it it doesn't.

The same cases on the same loop, once with everything taken out that the row counts on, once
with it. Where the row can be held by something that carries the whole fire, a quench coil of
many times the fire is put in: how large it has to be is asked elsewhere.
"""

from __future__ import annotations

from datetime import date
from functools import cache

import pytest

from coilward.loop.document import read_loop
from coilward.loop.model import Device
from coilward.loop.passive import WHOLE_FIRE
from coilward.proving.campaign import why_not
from coilward.proving.case import Case, parse_case
from coilward.proving.stage import Stage
from coilward.simulator.engine import can_compile
from coilward.simulator.faults import FAULTS

TODAY = date(2026, 11, 25)
LOOP = read_loop("greenhouse")
PROVEN = date(2026, 10, 3)
TRIES, CAREFUL_TRIES, SHOWN = 60, 24, 2
ENGINE = "compiled" if can_compile() else "interpreted"
RARE = {
    "strainer-blocks": "strainer-blocks/3@1=0:492,1:616,2:351,3:566,4:371,5:665,6:473,7:150,"
    "8:344,9:389,10:622,11:604,12:328,13:628,14:531,15:568,16:6,17:970,18:385,19:943,20:33,"
    "21:220,22:517,23:491,24:447,25:2,26:125,27:971,28:424,29:613,30:977,31:258,32:999,33:607,"
    "34:649,35:130,36:995",
    "fire-larger": "fire-larger/5@1=0:376,1:999,2:990,3:558,4:661,5:689,6:539,7:15,8:90,9:456,"
    "10:816,11:368,12:411,13:96,14:461,15:980,16:0,17:577,18:806,19:998,20:461,21:846,22:874,"
    "23:595,24:881,25:250,26:398,27:997,28:291,29:867,30:857,31:683,32:744,33:228,34:891,35:629,"
    "36:853",
}
"""Nights that were searched for: in none of the first 60 does the coil boil."""
CAREFUL = frozenset({
    "meter-low", "meter-high", "meter-counts-twice", "pulse-wire-shorted", "fans-fail",
    "fans-fuse-blows", "thermostat-dead", "damper-stuck", "damper-falls-open",
    "damper-sticks-at-finish", "damper-held-by-output", "dump-stuck", "dump-shuts",
    "flame-tongue", "lit-without-check", "wood-overloaded",
})  # fmt: skip
"""Rows that count on hardware by the trade's rule, though on this loop, with all that cools at
work, none of the nights tried below boils the coil without it."""
ROWS = [row for row in FAULTS.values() if row.prevents and not why_not(row, LOOP)]
NEEDY = [row.name for row in ROWS if row.name not in CAREFUL]


def taken_out(prevents, alone_with=""):
    """The loop without anything that the row counts on."""
    devices = [name for name in prevents if hasattr(LOOP.passive, name)]
    update = {"passive": LOOP.passive.model_copy(update=dict.fromkeys(devices))}
    if "valve_stop" in prevents:
        update["valve"] = LOOP.valve.model_copy(update={"stop": 0.0, "bypass_lpm": 0.0})
    if "flow_switch" in prevents:
        update["sensors"] = LOOP.sensors.model_copy(update={"flow_switch": False})
    if alone_with == "dump":
        update["dump"] = None
    return LOOP.model_copy(update=update)


def put_in(prevents):
    """The same with the one thing, or as shipped where that has it."""
    if not set(WHOLE_FIRE) & set(prevents):
        return LOOP
    quench = Device(proven=PROVEN, carries="100 kW")
    bare = taken_out(prevents)
    return bare.model_copy(
        update={"passive": bare.passive.model_copy(update={"quench_coil": quench})}
    )


@cache
def stages(prevents, alone_with):
    without, having = taken_out(prevents, alone_with), put_in(prevents)
    return tuple(Stage(loop, engine=ENGINE, today=TODAY) for loop in (without, having))


def cases_of(name, count):
    return [Case((name,), index, 1) for index in range(count)]


@pytest.mark.parametrize("name", NEEDY)
def test_without_its_hardware_the_coil_boils_and_with_it_it_does_not(name):
    row = FAULTS[name]
    without, having = stages(row.prevents, row.alone_with)
    shown = 0
    tried = [parse_case(RARE[name])] if name in RARE else cases_of(name, TRIES)
    for case in tried:
        boils = without.play(case)
        if not boils.fired or boils.first_boil_s is None:
            continue
        holds = having.play(case)
        assert holds.fired
        assert holds.first_boil_s is None
        shown += 1
        if shown == SHOWN:
            break
    assert shown == min(SHOWN, len(tried))


@pytest.mark.parametrize("name", sorted(CAREFUL))
def test_what_counts_on_hardware_out_of_care_alone_is_known_to(name):
    """Were one of these to boil, it would belong among those that are shown to need it."""
    row = FAULTS[name]
    without, _ = stages(row.prevents, row.alone_with)
    ended = [without.play(case) for case in cases_of(name, CAREFUL_TRIES)]
    assert any(each.fired for each in ended)
    assert all(each.first_boil_s is None for each in ended)
