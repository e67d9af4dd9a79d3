"""A rehearsal that is watched is the night that is rehearsed, only held back."""

from __future__ import annotations

import time

import pytest

from coilward.desk.live.rehearsing import Watched
from coilward.loop.document import read_loop
from coilward.simulator.night import Night
from coilward.simulator.rehearsal import rehearse
from tests.controller.rig import TODAY

NIGHT = Night.model_validate({
    "coilward": 1, "name": "short", "duration": "4 min", "start": "running",
    "moment": [{"at": "60 s", "do": "fault", "fault": "pump-dies"}],
})  # fmt: skip


def watched(speed):
    return Watched(read_loop("greenhouse"), NIGHT, speed=speed, seed=1, today=TODAY, system=None)


def taken(watching, within_s=60.0):
    ticks, until_s = [], time.monotonic() + within_s
    watching.start()
    while not watching.source.over() and time.monotonic() < until_s:
        ticks += watching.source.new()
        time.sleep(0.005)
    return ticks + list(watching.source.new())


def test_the_night_is_the_one_that_is_rehearsed():
    ticks = taken(watched(1000.0))
    run = rehearse(read_loop("greenhouse"), NIGHT, engine="interpreted", seed=1, today=TODAY)
    assert [tick.number for tick in ticks] == list(range(960))
    assert [tick.readings.time_s for tick in ticks] == [number / 4 for number in range(960)]
    phases = [ticks[0].state.mode.phase]
    for tick in ticks:
        if tick.state.mode.phase != phases[-1]:
            phases.append(tick.state.mode.phase)
    assert len(phases) == len(run.phases)
    for second in (0, 59, 61, 90, 200):
        assert ticks[4 * second].readings.tank_c == run.trace["tank_seen_c"][second]


def test_it_is_held_back_to_its_speed():
    watching = watched(40.0)
    watching.start()
    time.sleep(0.2)
    while not (first := list(watching.source.new())):
        time.sleep(0.01)
    began_s, was_s = time.monotonic(), first[-1].readings.time_s
    time.sleep(1.0)
    later = list(watching.source.new())
    passed_s = time.monotonic() - began_s
    watching.stop()
    assert later[-1].readings.time_s - was_s == pytest.approx(40.0 * passed_s, rel=0.15)


def test_it_can_be_stopped():
    watching = watched(1.0)
    watching.start()
    time.sleep(0.3)
    watching.stop()
    assert not watching.source.over()
