"""Both sides of a wire: greeting, ticks, lost lines, restarts, and what is refused."""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, given, settings

from coilward.controller.decide import decide
from coilward.controller.state import after_reboot, first_state
from coilward.controller.types import Readings, Requests
from coilward.hil import logic_side, plant_side
from coilward.hil.far_logic import Compared
from coilward.hil.frames import encode
from coilward.hil.link import Link, LinkLost
from coilward.hil.logic_side import commands_of, told_commands
from coilward.hil.plant_side import PlantSide, Refused
from coilward.hil.tick import digest
from coilward.hil.wire_faults import BadPort, Wire
from tests.controller.rig import healthy
from tests.controller.strategies import READINGS, REQUESTS, STATES
from tests.hil.pairs import BEING, CONSTANTS, CONVERT, pair, running

QUIET = Requests()


@pytest.fixture(autouse=True)
def hasty(monkeypatch):
    """Lines in memory need no time on a wire."""
    monkeypatch.setattr(plant_side, "AGAIN_S", 0.0)
    monkeypatch.setattr(plant_side, "HELLO_EVERY_S", 0.0)


def raw_at(time_s: float):
    return CONVERT.raw(healthy(CONSTANTS)._replace(time_s=time_s))


def test_a_tick_is_decided_as_without_a_wire(monkeypatch):
    monkeypatch.setattr(plant_side, "AGAIN_S", 5.0)
    plant, board = pair()
    plant.greet(1.0)
    state = running()
    assert plant.set_state(state, 1.0) == digest(state, logic_side.NOTHING)
    for tick in range(1, 50):
        raw = raw_at(0.25 * tick)
        answer = plant.exchange(tick, raw, QUIET, 1.0)
        state, commands = decide(CONVERT.readings(raw), QUIET, state, CONSTANTS)
        assert answer.commands == commands
        assert answer.told.digest == digest(state, commands)
    assert board.tick == 49
    assert plant.sent_again == 0


SWITCHES = ("flow_switch", "level_low", "level_low_low", "damper_shut", "pump_contact",
            "vent_wet", "smoke", "constants_ok")  # fmt: skip


def switched(readings: Readings) -> Readings:
    """A switch is open, shut or not known."""
    known = {name: getattr(readings, name) for name in SWITCHES}
    return readings._replace(
        **{name: value if value != value else float(value > 0.0) for name, value in known.items()}
    )


@given(STATES, READINGS.map(switched), REQUESTS)
@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
def test_any_state_readings_and_requests_go_over_the_wire_bit_for_bit(state, readings, requests):
    plant, _ = pair()
    plant.greet(1.0)
    plant.set_state(state, 1.0)
    compared = Compared(plant, CONVERT)
    compared.decide(readings, requests, state, CONSTANTS)
    assert compared.differences == []


@pytest.mark.parametrize(
    "wire",
    [
        Wire(bit_errors=1e-4), Wire(lost=0.3), Wire(doubled=0.5), Wire(swapped=0.3),
        Wire(cut=0.3), Wire(chatter=0.5), Wire(late_s=0.001),
        Wire(1e-4, 0.1, 0.1, 0.1, 0.1, 0.0005, 0.1),
    ],
    ids=str,
)  # fmt: skip
def test_a_bad_wire_costs_no_decision(wire):
    spoilt = []

    def wrap(port):
        spoilt.append(BadPort(port, wire, seed=5))
        return spoilt[0]

    plant, board = pair(wrap)
    plant.greet(5.0)
    state = running()
    plant.set_state(state, 5.0)
    compared = Compared(plant, CONVERT)
    restarted = 0
    for tick in range(1, 400):
        readings = healthy(CONSTANTS)._replace(time_s=0.25 * tick)
        if tick % 100 == 0:
            state = compared.rebooted(state)
            restarted += 1
        state = compared.decide(readings, QUIET, state, CONSTANTS).state
    assert compared.differences == []
    assert compared.far.told() == compared.reference.told()
    assert compared.far.ticks == 399
    assert restarted == 3
    assert board.state.ages.reboot_3_s == state.ages.reboot_3_s
    assert spoilt[0].touched > 20 or wire.late_s > 0.0


def test_a_restart_that_comes_twice_is_done_once():
    plant, board = pair()
    plant.greet(1.0)
    plant.set_state(running(), 1.0)
    plant.exchange(1, raw_at(0.25), QUIET, 1.0)
    before = board.state
    plant.restart(1.0)
    plant._send()
    plant.attend()
    assert repr(board.state) == repr(after_reboot(before))


def test_a_memory_that_comes_late_is_not_taken():
    plant, board = pair()
    plant.greet(1.0)
    plant.set_state(running(), 1.0)
    late = list(plant._parts)
    plant.exchange(1, raw_at(0.25), QUIET, 1.0)
    before = board.state
    plant.link.send(0, *late)
    plant.attend()
    assert board.state is before


def test_a_tick_of_the_past_is_not_decided():
    plant, board = pair()
    plant.greet(1.0)
    plant.exchange(5, raw_at(1.25), QUIET, 1.0)
    before = board.state
    plant.begin(4, raw_at(1.0), QUIET)
    plant.attend()
    plant.attend()
    assert board.tick == 5
    assert board.state is before


@pytest.mark.parametrize(
    ("change", "reason"), [({"tick_s": 0.5}, "other-tick"), ({"table": "11111111"}, "other-table"),
                           ({"side": "logic"}, "same-side")],
)  # fmt: skip
def test_who_does_not_fit_is_refused(change, reason):
    plant, board = pair()
    plant.open()
    hello = {**logic_side.greeting("plant", 9, BEING), **change}
    plant.link.port.write(encode(0, "hello", 0, 0, hello))
    (refusal,) = plant.link.receive()
    assert refusal.values == {"reason": reason}
    assert board.greeted is None
    with pytest.raises(Refused, match=reason):
        plant._hear(refusal)


def test_a_plant_does_not_talk_to_a_plant():
    plant, _ = pair()
    plant.open()
    plant.link.port.comes.append(
        encode(0, "hello", 0, 0, logic_side.greeting("plant", plant._opened, BEING))
    )
    with pytest.raises(Refused, match="same-side"):
        plant.attend()


def test_only_a_bench_sets_a_state_or_restarts():
    plant, board = pair()
    board.bench = False
    plant.greet(1.0)
    with pytest.raises(Refused, match="no-bench"):
        plant.set_state(running(), 1.0)
    with pytest.raises(Refused, match="no-bench"):
        plant.restart(1.0)
    assert repr(board.state) == repr(first_state(CONSTANTS))


def test_nobody_there_is_told():
    class Silent:
        def read(self):
            return b""

        def write(self, data):
            pass

    plant = PlantSide(Link(Silent()), BEING)
    with pytest.raises(LinkLost, match="nobody answered"):
        plant.greet(0.05)


def test_before_a_greeting_nothing_is_decided():
    plant, board = pair()
    plant.link.session = 77
    for name, values in [("moment", {"time_s": 1.0}), ("coil", {}), ("house", {}),
                         ("water", {}), ("power", {})]:  # fmt: skip
        plant.link.send(1, (name, values))
    board.serve()
    assert board.tick is None


@pytest.mark.parametrize(
    "change", [{"valve": 1.01}, {"valve": -0.1}, {"fans": 2.0}, {"horn": 4}, {"horn": -1}]
)
def test_commands_out_of_range_are_never_obeyed(change):
    sound = decide(healthy(CONSTANTS), QUIET, running(), CONSTANTS).commands
    assert commands_of(told_commands(sound)) == sound
    assert commands_of({**told_commands(sound), **change}) is None


def test_ten_thousand_mutated_lines_move_nothing():
    """A share of the long run in `benchmarks.hostile`."""
    plant, board = pair()
    plant.greet(1.0)
    plant.set_state(running(), 1.0)
    plant.exchange(1, raw_at(0.25), QUIET, 1.0)
    good = [line.text + b"\n" for line in plant.link.lines if line.sent]
    before, rng = board.state, random.Random(11)
    board.link.port.goes.clear()
    for _ in range(10_000):
        line = bytearray(rng.choice(good))
        for _ in range(rng.randrange(1, 6)):
            line[rng.randrange(len(line) - 1)] = rng.randrange(256)
        board.link.port.comes.append(bytes(line))
        board.serve()
    assert board.state is before
    assert board.tick == 1


def test_a_logic_side_tells_each_tick_once():
    told = []
    plant, board = pair()
    board._told = told.append
    plant.greet(1.0)
    plant.exchange(3, raw_at(0.75), Requests(reset=True), 1.0)
    plant._send()
    plant.attend()
    assert [tick.number for tick in told] == [3]
    assert told[0].requests == Requests(reset=True)
    assert told[0].readings.time_s == 0.75
    assert told[0].late_s == 0.0


def test_the_time_away_is_told_at_the_first_tick_alone():
    told = []
    plant, board = pair()
    board._told, board.away = told.append, lambda readings: 7.5 + readings.time_s
    plant.greet(1.0)
    for tick in (1, 2):
        plant.exchange(tick, raw_at(0.25 * tick), QUIET, 1.0)
    assert told[0].readings.outage_s == 7.75
    assert told[1].readings.outage_s != 7.75
