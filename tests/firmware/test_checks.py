"""What a running board checks of itself: each is provoked on an emulated processor.

The yardsticks: CRC-32 by zlib (IEEE 802.3), the safe commands of the wire's dead-man, what the
hardware does by itself, and a twin of the board that is left alone.
"""

from __future__ import annotations

import ctypes
import re
import struct
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest

from coilward.controller.constants import Constants
from coilward.controller.decide import decide
from coilward.controller.state import NO, State, first_state
from coilward.controller.types import Commands, Requests
from coilward.hil import firmware
from coilward.hil.dead_man import safe
from coilward.hil.emulated.counting import Counter
from coilward.hil.emulated.machine import OUTPUTS, RAM, RAM_BYTES
from coilward.hil.emulated.watched import WATCHDOG_MS, Watched, alone
from coilward.hil.flashing.boards import SOURCES as BOARDS
from tests.firmware.aftermath import campaign
from tests.firmware.boards import board as benched
from tests.firmware.boards import image
from tests.firmware.structures import as_tuple, structure
from tests.firmware.twins import STEP_MS, TICK_STEPS, do_step, outputs, pins_of, twin_of
from tests.hil.pairs import CONSTANTS, CONVERT

NIGHT = "outlet opens"
LASTS_S = 230.0
BEGUN = TICK_STEPS * 100
STACK_END = 0x2000_C000
A_SECOND = 1000 // STEP_MS


@cache
def twin():
    return twin_of(pins_of(NIGHT, LASTS_S)[:200], {BEGUN, BEGUN + TICK_STEPS - 1})


def running(step=BEGUN):
    """A board after 25 s of a sound fire."""
    return Watched(image(), twin().snapshots[step])


def play(board, steps, begun=BEGUN):
    """Plays on; the step after which a check has found something or the watchdog has bitten."""
    for now in range(begun, begun + steps):
        do_step(board, twin().pins, now)
        if board.bites or any(board.found().values()):
            return now + 1 - begun
    return None


def found(board):
    return [name for name, count in board.found().items() if count]


def told(board):
    return Commands(*outputs(board))


def assert_stops_safely(board, begun):
    """Safe outputs, no kick any more, and then the hardware's own."""
    before = Commands(*twin().outputs[begun - 2])
    assert told(board) == safe(before)
    kicks = board.kicks
    for now in range(begun, begun + WATCHDOG_MS // STEP_MS + 1):
        assert told(board) == safe(before)
        do_step(board, twin().pins, now)
        if board.bites:
            break
    assert board.kicks == kicks
    expected = alone(board.pins)
    assert outputs(board) == tuple(expected[name] for name in OUTPUTS)


def test_a_sound_board_finds_nothing_and_kicks_every_tick():
    board = running()
    assert play(board, 300) is None
    assert board.kicks == 300 // TICK_STEPS


# ---- constants -------------------------------------------------------------------------------


def test_a_damaged_constant_is_found_within_a_second_and_the_fire_is_ended():
    board = running()
    board.flip(board.symbols["LOOP_CONSTANTS"] + constant_at("limits", "outlet_hh_c"), 50)
    assert play(board, 100) <= A_SECOND
    assert found(board) == ["constants"]
    play_on(board, 2 * TICK_STEPS)
    ended = told(board)
    assert ended._replace(horn=2) == Commands(True, 1.0, 1.0, False, True, 2, False)
    assert ended.horn >= 2
    kicks = board.kicks
    play_on(board, 100)
    assert board.kicks == kicks + 100 // TICK_STEPS


def play_on(board, steps):
    for now in range(BEGUN + 100, BEGUN + 100 + steps):
        do_step(board, twin().pins, now)


def constant_at(part, name):
    kind = structure(Constants)
    inner = dict(kind._fields_)[part]
    return getattr(kind, part).offset + getattr(inner, name).offset


def test_a_board_that_starts_with_damaged_constants_goes_by_their_copy():
    """A tick of no seconds at all: without the copy nothing would ever be decided, or kicked."""
    board = Watched(image())
    for byte in range(8):
        at = board.symbols["LOOP_CONSTANTS"] + structure(Constants).tick_s.offset + byte
        board.cpu.mem_write(at, b"\x7f")
    board.pins |= twin().pins[0]
    board.run()
    for now in range(100):
        do_step(board, twin().pins, now)
    assert found(board) == ["constants"]
    assert board.kicks == 100 // TICK_STEPS
    assert not told(board).damper_open


def numbers_of(kind, begins=0):
    """Place and size of every number of a structure."""
    for name, each in kind._fields_:
        place, size = begins + getattr(kind, name).offset, getattr(kind, name).size
        if issubclass(each, ctypes.Structure):
            yield from numbers_of(each, place)
        else:
            yield place, size


def test_every_bit_of_every_number_is_in_the_sum():
    board = running()
    registers = import_module("unicorn.arm_const")
    constants, wiring = board.symbols["LOOP_CONSTANTS"], board.symbols["LOOP_WIRING"]

    def sound():
        board.cpu.reg_write(registers.UC_ARM_REG_R0, constants)
        board.cpu.reg_write(registers.UC_ARM_REG_R1, wiring)
        board.cpu.reg_write(registers.UC_ARM_REG_LR, board.symbols["main"] | 1)
        board.cpu.emu_start(board.symbols["loop_sound"] | 1, board.symbols["main"])
        return board.cpu.reg_read(registers.UC_ARM_REG_R0) & 1

    assert sound()
    places = [
        constants + place + byte for place, size in numbers_of(structure(Constants))
        for byte in range(size)
    ]  # fmt: skip
    fits = (board.extents["LOOP_WIRING"] - 8) // 32
    places += [wiring + byte for byte in range(8)]
    places += [wiring + 8 + 32 * fit + byte for fit in range(fits) for byte in (0, *range(8, 32))]
    for number, place in enumerate(places):
        board.flip(place, number % 8)
        assert not sound(), hex(place)
        board.flip(place, number % 8)
    assert len(places) > 800


# ---- state and decision -------------------------------------------------------------------------


@pytest.mark.parametrize("place", [16, 16 + 300, 16 + 831, 16 + 832, 0, 12])
def test_a_changed_state_is_found_before_the_next_decision(place):
    """State, outputs, and what they hang on: the board goes on from what was kept."""
    board = running()
    board.flip(board.symbols["side"] + place, 2)
    assert play(board, 20) <= TICK_STEPS
    assert found(board) == ["state"]
    again = Watched(image())
    again.take_world(board)
    again.run()
    for now in range(BEGUN + TICK_STEPS, BEGUN + 100):
        do_step(board, twin().pins, now)
        do_step(again, twin().pins, now)
        assert outputs(board) == outputs(again), now


def test_without_a_memory_a_changed_state_means_a_fire():
    board = running()
    board.kept = b""
    board.flip(board.symbols["side"] + 100, 3)
    assert play(board, 20) <= TICK_STEPS
    for now in range(BEGUN + TICK_STEPS, BEGUN + 2 * TICK_STEPS + 1):
        do_step(board, twin().pins, now)
    raw = twin().pins[BEGUN // TICK_STEPS + 1] | {"time_s": 0.25, "outage_s": 0.0}
    damaged = first_state(CONSTANTS)
    damaged = damaged._replace(mode=damaged.mode._replace(phase=-1))
    expected = decide(CONVERT.readings(raw), Requests(), damaged, CONSTANTS)
    kept = as_tuple(State, structure(State).from_buffer_copy(board.kept))
    assert kept.mode == expected.state.mode
    assert told(board) == expected.commands
    assert expected.state.mode.fire != NO


def test_two_decisions_that_differ_are_none():
    board = running(BEGUN + TICK_STEPS - 1)

    def spoil(board):
        """As the first decision ends: its candidate for the next state is not what was decided."""
        board.at_call("memory_digest", lambda board: board.flip(board.symbols["running"] + 400, 1))

    board.at_call("convert", spoil)
    do_step(board, twin().pins, BEGUN + TICK_STEPS - 1)
    assert found(board) == ["decision"]
    assert_stops_safely(board, BEGUN + TICK_STEPS)


# ---- memory and stack ----------------------------------------------------------------------------


def test_a_bit_that_sticks_is_found_in_a_round_of_the_memory():
    board = running()
    board.stick(0x2000_7000, 5)
    steps = play(board, 400)
    assert found(board) == ["ram"]
    assert_stops_safely(board, BEGUN + steps)


@pytest.mark.parametrize("place", [RAM, RAM + 252, RAM + 256, 0x2000_8000, RAM + RAM_BYTES - 4])
def test_a_board_whose_memory_fails_the_march_does_not_start(place):
    board = Watched(image())
    board.stick(place, 9)
    board.pins |= twin().pins[0]
    board.run()
    for now in range(50):
        do_step(board, twin().pins, now)
    assert board.kicks == 0
    assert len(board.bites) == 1
    assert board.pins["output_pump"] != board.pins["output_pump"]


def test_the_march_leaves_zeros():
    board = Watched(image())
    board.cpu.mem_write(RAM, b"\xa5" * RAM_BYTES)
    seen = []
    board.at_call("main", lambda board: seen.append(bytes(board.cpu.mem_read(RAM, 0xFF00))))
    board.run()
    assert seen == [bytes(0xFF00)]


def test_a_stack_that_reaches_its_end_is_found():
    board = running()
    board.cpu.mem_write(STACK_END + 4, struct.pack("<I", 0x0800_1234))
    steps = play(board, 20)
    assert found(board) == ["stack"]
    assert_stops_safely(board, BEGUN + steps)


def test_the_stack_has_room():
    """A quarter of it at most is in use while a tick runs."""
    board = Watched(image())
    counter = Counter(board, "running_watch")
    board.pins |= twin().pins[0]
    board.run()
    for now in range(60):
        do_step(board, twin().pins, now)
    assert 1000 < counter.stack < (RAM + RAM_BYTES - STACK_END) // 4


# ---- flow --------------------------------------------------------------------------------------


def test_a_step_that_was_left_out_is_found_before_outputs_are_told():
    board = running(BEGUN + TICK_STEPS - 1)

    def unsign(board):
        """Takes back the last sign: three steps of six have been done."""
        memory = bytes(board.cpu.mem_read(board.symbols["running"], 64))
        at = board.symbols["running"] + memory.index(struct.pack("<I", 0x123))
        board.cpu.mem_write(at, struct.pack("<I", 0x12))

    board.at_call("loop_quarter_sound", unsign)
    do_step(board, twin().pins, BEGUN + TICK_STEPS - 1)
    assert found(board) == ["flow"]
    assert_stops_safely(board, BEGUN + TICK_STEPS)


@pytest.mark.parametrize("lost", [Watched.halt, lambda board: board.jump(RAM + 64)])
def test_a_processor_that_stands_or_faults_ends_in_the_watchdog(lost):
    board = running(BEGUN + TICK_STEPS - 1)
    board.at_block(5000, lost)
    before = Commands(*outputs(board))
    steps = 0
    while not board.bites:
        do_step(board, twin().pins, BEGUN + TICK_STEPS - 1 + steps)
        steps += 1
    assert steps * STEP_MS <= WATCHDOG_MS
    assert told(board) == before._replace(damper_open=False, dump_open=True, horn=3)
    kicks = board.kicks
    assert play(board, 100, BEGUN + 100) == 1
    for now in range(BEGUN + 101, BEGUN + 200):
        do_step(board, twin().pins, now)
    assert board.kicks > kicks + 15
    assert len(board.bites) == 1


@pytest.mark.parametrize("every_ms", [300, 600, 1500])
def test_a_program_that_gets_around_too_seldom_is_found(every_ms):
    board = running()
    board.starve(every_ms)
    assert play(board, 100) * STEP_MS <= 4000
    assert found(board) == ["flow"]


# ---- clocks ------------------------------------------------------------------------------------


@pytest.mark.parametrize("other", [False, True])
@pytest.mark.parametrize("rate", [0.0, 0.5, 0.94, 1.06, 2.0])
def test_a_clock_that_goes_wrong_is_found_by_the_other(rate, other):
    board = running()
    board.set_rate(rate, other=other)
    steps = play(board, 100)
    assert found(board) == ["clock"]
    assert steps * STEP_MS <= 2100
    assert_stops_safely(board, BEGUN + steps)


@pytest.mark.parametrize("rate", [0.96, 1.04])
def test_clocks_may_differ_a_little(rate):
    board = running()
    board.set_rate(rate, other=True)
    assert play(board, 300) is None


# ---- the bench, and chance ----------------------------------------------------------------------


def test_on_the_bench_the_watchdog_is_kicked_while_the_loop_goes_round():
    machine, _ = benched()
    for _ in range(10):
        machine.run()
    assert machine.kicks >= 10


def test_a_board_that_takes_itself_for_one_on_the_bench_does_not():
    """One bit of memory makes no bench: the jumper is asked again."""
    board = running()
    board.flip(board.symbols["side"] + 12, 0)
    assert play(board, 20) <= TICK_STEPS
    assert found(board) == ["state"]


def test_nothing_of_a_share_of_the_campaign_is_missed():
    """Three of every kind, on one night: the whole is benchmarks.corruptions."""
    results = list(campaign([NIGHT], LASTS_S, 21, 7))
    assert [played for played in results if played.outcome.result == "missed"] == []
    assert len(results) == 21
    assert sum(played.outcome.result == "detected" for played in results) > 5


def test_every_watchdog_takes_as_long():
    """Of the program, of both filled-in boards and of the emulated one."""

    def number(path, before):
        found = re.findall(rf"{before}\s*(\d+)", path.read_text("utf-8"))
        assert len(found) == 1
        return int(found[0])

    running_c = Path(firmware.__file__).with_name("running.c")
    assert number(running_c, "#define WATCHDOG_MS") == WATCHDOG_MS < 2000 - STEP_MS
    assert number(BOARDS / "rp2040.c", "WATCHDOG_LOAD =") == 2 * 1000 * WATCHDOG_MS
    assert number(BOARDS / "stm32f407.c", "IWDG_PR =") == 4
    assert (number(BOARDS / "stm32f407.c", "IWDG_RLR =") + 1) * 64 == 32 * WATCHDOG_MS
