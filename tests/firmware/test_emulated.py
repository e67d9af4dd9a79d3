"""The firmware on an emulated processor says and decides what the reference does."""

from __future__ import annotations

from importlib import import_module

import pytest

from coilward import __version__
from coilward.controller.phases import BOOT
from coilward.controller.state import YES, first_state
from coilward.controller.types import Requests
from coilward.hil.bench import catalogue, run
from coilward.hil.bench.player import Player
from coilward.hil.bench.reactions import over
from coilward.hil.bench.report import Report
from coilward.hil.bench.run import Plan, bench_board
from coilward.hil.emulated.building import M0_PLUS, M4
from coilward.hil.emulated.counting import Counter
from coilward.hil.emulated.machine import Machine
from tests.firmware.boards import Waiting, board, image
from tests.firmware.talk import Talk, wild
from tests.hil.benches import found_and_stop, settled, short_night
from tests.hil.pairs import CONSTANTS, CONVERT, LOOP, TODAY


@pytest.mark.parametrize("processor", [M4, M0_PLUS], ids=lambda one: one.name)
def test_it_says_byte_for_byte_what_the_reference_says(processor):
    """A talk over a bad wire, with wrong plants, silences, restarts and states of every kind."""
    talk = Talk(processor, 1)
    chance, scene = talk.chance, settled().burning.copy()
    talk.hear(b"noise\n\r\n" + bytes(range(256)))
    talk.greet(7, table="00000000")
    talk.greet(7, side="logic")
    talk.greet(7, tick_s=17.0)
    for session in range(1, 9):
        talk.greet(session)
        fresh = first_state(CONSTANTS), first_state(CONSTANTS, BOOT, YES)
        state = chance.choice((scene.state, *fresh))
        talk.remember(state)
        for number in range(1, 40):
            requests = Requests(*(chance.random() < 0.02 for _ in Requests._fields))
            readings = scene.readings._replace(time_s=state.ages.time_s + 0.25 * number)
            if chance.random() < 0.5:
                readings = wild(chance, readings)
            talk.tick(number, readings, requests)
            if chance.random() < 0.05:
                count = 1 + talk.reference.side._restarts
                for _ in range(chance.choice((1, 2))):
                    talk.hear(talk.line("restart", 0, {"count": count}))
            if chance.random() < 0.05:
                for _ in range(20):
                    talk.hear(b"", passes_ms=125)
        before = talk.answers
        talk.remember(scene.state)
        assert talk.answers == before, "a state was taken over in the middle of a session"
        talk.tick(40, scene.readings, Requests())
        talk.hear(talk.line("moment", 99, {}, session=session + 1))
    assert talk.answers > 1000


def emulated_bench(monkeypatch, nights, find=found_and_stop):
    """The bench in its short setting, on the emulated board and the clock of the test."""
    _, port = board()

    def tuned(player):
        player.clock = player.side.link.clock = lambda: port.now_s[0]

    monkeypatch.setattr("coilward.hil.plant_side.AGAIN_S", 0.0)
    monkeypatch.setattr("coilward.hil.plant_side.HELLO_EVERY_S", 0.0)
    monkeypatch.setattr(run, "grounds", lambda _: settled())
    monkeypatch.setattr(catalogue, "LEAST_S", 10.0)
    monkeypatch.setattr(catalogue, "MOST_S", 10.0)
    monkeypatch.setattr(Report, "find", find)
    plan = Plan(nights, 1, 1, False, TODAY)
    return bench_board(LOOP, plan, lambda: port, lambda *_: None, tuned)


def test_the_whole_bench_finds_nothing(monkeypatch):
    """Identity, dead-man, bad wires, every interlock, every fault and a night."""
    report = emulated_bench(monkeypatch, [short_night()])
    assert report.findings == []
    assert report.parts_done == list(run.PARTS)
    assert report.board["program"] == f"coilward-cortex-m4-{__version__}"
    assert report.silent.spread.times == 3
    assert all(row.passed or row.why_not for row in report.rows)
    assert report.nights[0].board == report.nights[0].alone
    assert report.ticks > 5000


@pytest.mark.parametrize("processor", [M4, M0_PLUS], ids=lambda one: one.name)
def test_a_fire_whose_water_stops_is_decided_to_the_last_bit(processor):
    _, port = board(processor)
    player = Player(lambda: port, CONSTANTS, CONVERT)
    scene = settled().burning.copy()
    held = player.begin(scene.state)
    over(held, scene)
    for tick in range(240):
        if tick == 40:
            scene.stop_water()
        scene.tick()
    assert held.differing == 0
    assert held.far.told() == held.reference.told()
    assert scene.commands.horn > 0
    assert not scene.commands.damper_open


def test_counting_by_blocks_is_counting_every_instruction():
    """The emulator's own hook for single instructions is the other count.

    On the smallest core, which has none that are passed over without a jump.
    """
    unicorn = import_module("unicorn")
    machine = Machine(image(M0_PLUS), processor=M0_PLUS)
    counter, single = Counter(machine, "memory_digest"), [0]
    def step(*_):
        single[0] += counter.counting

    machine.cpu.hook_add(unicorn.UC_HOOK_CODE, step)
    port = Waiting(machine, [0.0])
    player = Player(lambda: port, CONSTANTS, CONVERT)
    player.begin(settled().burning.state)
    assert len(counter.counts) == 1
    assert counter.counts[0] == single[0] > 5000
