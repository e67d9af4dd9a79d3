"""Driving a plain board: lost ports, missed ticks, what a page may ask, and going on."""

from __future__ import annotations

import math
from collections import deque

import pytest

from coilward.controller.phases import PHASES
from coilward.controller.state import NO, YES, after_reboot, first_state
from coilward.controller.types import Requests
from coilward.hil import driving, plant_side
from coilward.hil.driving import Driver, away_s
from coilward.hil.link import Link, LinkLost
from coilward.hil.plant_side import PlantSide
from tests.controller.rig import healthy
from tests.hil.pairs import BEING, CONSTANTS, CONVERT, LOOP, Memory


class Plugged:
    """A port over a wire in memory that can be pulled out."""

    def __init__(self, wire, pulled):
        self.wire, self.pulled = wire, pulled

    def _there(self):
        if self.pulled:
            raise LinkLost("unplugged")

    def read(self):
        self._there()
        return self.wire.read()

    def write(self, data):
        self._there()
        self.wire.write(data)

    def close(self):
        pass


class Set:
    """A driver and a plant in one process."""

    def __init__(self, monkeypatch, state):
        monkeypatch.setattr(plant_side, "AGAIN_S", 0.001)
        monkeypatch.setattr(plant_side, "HELLO_EVERY_S", 0.0)
        monkeypatch.setattr(driving, "REOPEN_S", 0.0)
        there, back = deque(), deque()
        self.pulled, self.opened, self.told = [], 0, []

        def open_port():
            self.opened += 1
            if self.pulled:
                raise LinkLost("not there")
            return Plugged(Memory(there, back), self.pulled)

        self.driver = Driver(
            LOOP, CONSTANTS, state, open_port, lambda *each: self.told.append(each)
        )
        self.plant = PlantSide(Link(Memory(back, there, self.driver.serve)), BEING)
        self.number = 0

    def tick(self, number=None, **readings):
        self.number = self.number + 1 if number is None else number
        seen = healthy(CONSTANTS)._replace(time_s=0.25 * self.number, **readings)
        return self.plant.exchange(self.number, CONVERT.raw(seen), Requests(), 2.0)


@pytest.fixture
def both(monkeypatch):
    made = Set(monkeypatch, first_state(CONSTANTS, PHASES.index("run"), YES))
    made.plant.greet(1.0)
    return made


def test_every_tick_is_told_with_its_lines(both):
    for _ in range(4):
        both.tick()
    assert [tick.number for tick, _ in both.told] == [0, 1, 2, 3]
    lines = both.told[-1][1]
    assert [line.sent for line in lines].count(False) == 5
    assert any(b" commands " in line.text for line in lines if line.sent)
    assert len(lines) < 10


def test_a_tick_that_never_came_is_counted_and_leaves_a_gap(both):
    both.tick()
    both.tick(number=4)
    assert [tick.number for tick, _ in both.told] == [0, 3]
    assert both.driver.health.missed == 2


def test_a_board_that_starts_anew_goes_on_in_the_same_order(both):
    both.tick(number=50)
    both.plant.greet(1.0)
    both.tick(number=1)
    assert [tick.number for tick, _ in both.told] == [0, 1]
    assert both.driver.health.missed == 0


def test_a_pulled_plug_is_put_back_by_itself(both):
    both.tick()
    both.pulled.append(True)
    for _ in range(5):
        both.driver.serve()
    assert not both.driver.health.connected
    assert both.driver.health.lost == 1
    both.pulled.clear()
    both.driver.serve()
    assert both.driver.health.connected
    assert both.tick().commands.pump
    assert both.opened > 1


@pytest.mark.parametrize(
    ("act", "held"), [("silence", "silence"), ("finish", "finish")]
)
def test_what_the_page_asks_is_asked_once(both, act, held):
    both.driver.ask(act)
    both.tick()
    both.tick()
    assert [getattr(tick.requests, held) for tick, _ in both.told] == [True, False]


def test_a_horn_test_sounds_and_decides_nothing(both):
    both.driver.ask("horn")
    assert both.tick().commands.horn == 3
    assert both.told[0][0].commands.horn == 0
    both.driver._tested_until_s = 0.0
    assert both.tick().commands.horn == 0


@pytest.mark.parametrize("act", ["reset", "pump", "silence "])
def test_nothing_else_can_be_asked(both, act):
    with pytest.raises(ValueError, match=act):
        both.driver.ask(act)
    both.tick()
    assert both.told[0][0].requests == Requests()


def test_late_ticks_are_counted(both):
    both.tick()
    clock = both.driver.side.clock
    both.driver.side.clock = lambda: clock() + 1.0
    both.tick()
    assert both.driver.health.late == 1
    assert both.driver.health.latest_s > 0.5


def test_leave_is_taken_of_a_cold_loop_alone(both):
    def byes():
        return [line for line in both.driver.link.lines if b" bye " in line.text]

    both.tick()
    assert not both.driver.leave()
    assert byes() == []
    both.driver.side.state = first_state(CONSTANTS)
    assert both.driver.side.state.mode.fire == NO
    assert both.driver.leave()
    assert len(byes()) == 1


@pytest.mark.parametrize(
    ("board_s", "last_s", "wall_s", "away"),
    [(30.0, 10.0, 5.0, 20.0), (30.0, 10.0, 90.0, 90.0), (3.0, 10.0, 90.0, math.nan),
     (30.0, 10.0, -3600.0, 20.0)],
)  # fmt: skip
def test_how_long_nobody_decided(board_s, last_s, wall_s, away):
    state = first_state(CONSTANTS)
    state = state._replace(ages=state.ages._replace(time_s=last_s))
    found = away_s(healthy(CONSTANTS)._replace(time_s=board_s), state, wall_s)
    assert found == away or (math.isnan(found) and math.isnan(away))


def resumed(monkeypatch, away, **readings):
    """The phase a few seconds after a run that was killed over a fire goes on."""
    last = first_state(CONSTANTS, PHASES.index("run"), YES)
    last = last._replace(ages=last.ages._replace(time_s=100.0, window_s=30.0))
    made = Set(monkeypatch, first_state(CONSTANTS))
    made.driver.resume(last, driving.time.time() - away)
    made.plant.greet(1.0)
    made.number = round(4.0 * (100.0 + away))
    commands = [made.tick(**readings).commands for _ in range(40)]
    assert made.told[0][0].readings.outage_s == pytest.approx(away + 0.25, abs=0.3)
    return made.told, commands


def test_a_killed_run_goes_on_where_water_still_moves(monkeypatch):
    told, commands = resumed(monkeypatch, 3.0)
    assert told[0][0].state.mode.fire == YES
    assert all(each.pump for each in commands)
    assert PHASES[told[-1][0].state.mode.phase] in ("warm-up", "run", "shutdown")


def test_a_killed_run_never_starts_a_pump_into_a_coil_that_may_be_dry(monkeypatch):
    still = {"flow_lpm": 0.0, "pulse_age_s": 200.0, "pump_a": 0.0, "flow_switch": 0.0,
             "pump_contact": 0.0}  # fmt: skip
    told, commands = resumed(monkeypatch, 200.0, **still)
    assert not any(each.pump for each in commands)
    assert PHASES[told[-1][0].state.mode.phase] == "dry lock-out"


def test_what_survives_is_what_survives_a_restart_of_a_board(monkeypatch):
    made = Set(monkeypatch, first_state(CONSTANTS))
    last = first_state(CONSTANTS, PHASES.index("run"), YES)
    made.driver.resume(last, 0.0)
    assert repr(made.driver.side.state) == repr(after_reboot(last))
