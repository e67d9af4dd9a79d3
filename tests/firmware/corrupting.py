"""Corruptions of a running board, each beside a twin that is left alone."""

from __future__ import annotations

import ctypes
import random
from collections.abc import Callable
from functools import cache
from typing import NamedTuple

from coilward.controller.state import UNKNOWN, State
from coilward.controller.types import Commands, Requests
from coilward.hil.dead_man import safe
from coilward.hil.emulated.machine import OUTPUTS, RAM, RAM_BYTES
from coilward.hil.emulated.watched import CHECKS, WATCHDOG_MS, Snapshot, Watched, alone
from coilward.hil.recording_night import recorded
from coilward.proving.scenes import moment
from coilward.simulator.bench import Bench
from coilward.simulator.night import Night
from coilward.simulator.rehearsal import Rehearsal
from tests.firmware.boards import image
from tests.firmware.c_structures import as_tuple, structure
from tests.hil.pairs import CONSTANTS, CONVERT, LOOP, TODAY

STEP_MS = 50
TICK_STEPS = 5
WATCHDOG_STEPS = WATCHDOG_MS // STEP_MS + 1
COUNTS_BYTES = 4 * len(CHECKS) + 4
"""At the end of what is kept: the counts, and what fills the place up to eight bytes."""
BAD = {"constants_ok": 0.0}
WATCHED_S = 60.0
"""Outputs that equal the twin's for so long have come to no harm."""
AFTER_S = 15.0
"""How long the outputs are looked at after a check has found something, or the watchdog."""
DEVIATES_S = 4.0
"""Outputs may differ from the twin's for so long before somebody finds it."""
TICK_BLOCKS = 16_500
"""Blocks of instructions in a pass that decides."""
POINTERS_BYTES = 16
"""Of the logic's side, before its state."""

NIGHTS = {
    "pump dies": ("running", [moment(200.0, "fault", fault="pump-dies")]),
    "outlet opens": ("running", [moment(150.0, "fault", fault="outlet-a-open", for_s=120.0)]),
    "fans fail after the check": ("cold", [
        moment(2.0, "prepare"), moment(10.0, "light"), moment(150.0, "fault", fault="fans-fail"),
    ]),
}  # fmt: skip


class Twin(NamedTuple):
    """A night as the board without a corruption drives it."""

    pins: list[dict[str, float]]
    """What the pins see, tick by tick."""
    outputs: list[tuple[float, ...]]
    """Step by step."""
    snapshots: dict[int, Snapshot]
    """Before some of the steps."""
    kept: set[bytes]
    """Every memory that it has kept, without the counts."""

    @property
    def steps(self) -> int:
        """How many there are."""
        return len(self.outputs)


@cache
def pins_of(night: str, lasts_s: float) -> list[dict[str, float]]:
    """A recorded night, as pins see it."""
    ticks = []
    begins, moments = NIGHTS[night]
    bench = Bench(
        LOOP, TODAY, "interpreted", recorded(lambda tick, _: ticks.append(tick), began_s=0.0)
    )
    played = Night.model_construct(
        coilward=1, name=night, duration_s=lasts_s, start=begins, outdoor_c=None, moment=moments
    )
    Rehearsal(bench, played, bench.start(played), 1).play(None)
    nobody = dict.fromkeys(Requests._fields, 0.0)
    return [
        CONVERT.raw(tick.readings) | nobody | {"outage": 0.0}
        | {name: 1.0 for name, held in tick.requests._asdict().items() if held}
        for tick in ticks
    ]  # fmt: skip


def twin_of(pins: list[dict[str, float]], wanted: set[int]) -> Twin:
    """The night of a board that nothing happens to, with snapshots before the steps wanted."""
    board = Watched(image())
    twin = Twin(pins, [], {}, set())
    board.pins |= pins[0]
    board.run()
    for step in range(TICK_STEPS * len(pins)):
        if step in wanted:
            twin.snapshots[step] = board.snapshot()
        do_step(board, pins, step)
        twin.outputs.append(outputs(board))
        twin.kept.add(memory_of(board))
    if board.bites or any(board.found().values()):
        raise RuntimeError(f"the twin is not left alone: {board.bites}, {board.found()}")
    return twin


def do_step(board: Watched, pins: list[dict[str, float]], step: int) -> None:
    """Time passes; the pins move with the tick."""
    board.pins |= pins[step // TICK_STEPS]
    board.pass_time(STEP_MS)


def memory_of(board: Watched) -> bytes:
    """What is kept, without the counts of the checks."""
    return board.kept[:-COUNTS_BYTES]


def outputs(board: Watched) -> tuple[float, ...]:
    """What the outputs are told."""
    return tuple(board.pins[name] for name in OUTPUTS)


# ---- what is done ------------------------------------------------------------------------------


class Corruption(NamedTuple):
    """One thing that goes wrong, once."""

    kind: str
    words: str
    do: Callable[[Watched], None]


def stack_flip(share: float, bit: int) -> Callable[[Watched], None]:
    """A bit of the stack in use, at whatever depth it is then."""

    def act(board: Watched) -> None:
        pointer = board.cpu.reg_read(board._registers()[13])
        size = max(RAM + RAM_BYTES - pointer, 1)
        board.flip(pointer + int(share * size), bit)

    return act


def drawn(chance: random.Random, kind: str) -> Corruption:
    """A corruption of this kind."""
    return KINDS[kind](chance)


def _constants(chance: random.Random) -> Corruption:
    name, kind = chance.choice([("LOOP_CONSTANTS", type(CONSTANTS)), ("LOOP_WIRING", None)])
    size = ctypes.sizeof(structure(kind)) if kind else 256
    bit = chance.randrange(8 * size)
    return Corruption("constants", f"bit {bit} of {name}", lambda board: board.flip(
        board.symbols[name], bit))  # fmt: skip


def _state(chance: random.Random) -> Corruption:
    size = POINTERS_BYTES + sum(ctypes.sizeof(structure(kind)) for kind in (State, Commands))
    bit = chance.randrange(8 * size)
    return Corruption("state", f"bit {bit} of the state", lambda board: board.flip(
        board.symbols["side"], bit))  # fmt: skip


def _ram(chance: random.Random) -> Corruption:
    share, bit = chance.random(), chance.randrange(8)
    return Corruption("other RAM", f"bit {bit} at {share:.4f} of the memory in use",
        lambda board: board.flip(RAM + int(share * board.sizes[".bss"]), bit))  # fmt: skip


def _in_a_tick(chance: random.Random, kind: str, words: str, act) -> Corruption:
    block = chance.randrange(1, TICK_BLOCKS)
    return Corruption(kind, f"{words}, at block {block}", lambda board: board.at_block(block, act))


def _stack(chance: random.Random) -> Corruption:
    share, bit = chance.random(), chance.randrange(8)
    return _in_a_tick(
        chance, "stack", f"bit {bit} at {share:.3f} of the stack", stack_flip(share, bit)
    )


def _register(chance: random.Random) -> Corruption:
    number, bit = chance.randrange(15), chance.randrange(32)
    return _in_a_tick(chance, "registers", f"bit {bit} of r{number}",
        lambda board: board.flip_register(number, bit))  # fmt: skip


def _counter(chance: random.Random) -> Corruption:
    if chance.random() < 0.3:
        return _in_a_tick(chance, "program counter", "stuck", Watched.halt)
    share = chance.random()
    return _in_a_tick(chance, "program counter", f"jumps to {share:.5f} of the program",
        lambda board: board.jump(64 + int(share * board.sizes[".text"]) & ~1))  # fmt: skip


def _clock(chance: random.Random) -> Corruption:
    how, other = chance.choice(["stopped", "starved", "fast", "slow"]), chance.random() < 0.5
    if how == "starved":
        every_ms = STEP_MS * chance.randrange(6, 60)
        return Corruption("clock", f"starved to once in {every_ms} ms", lambda board: board.starve(
            every_ms))  # fmt: skip
    rate = {
        "stopped": 0.0, "fast": chance.uniform(1.06, 5.0), "slow": chance.uniform(0.2, 0.94),
    }[how]  # fmt: skip
    return Corruption("clock", f"{'second' if other else 'first'} clock {how}, {rate:.3f}",
        lambda board: board.set_rate(rate, other=other))  # fmt: skip


KINDS = {
    "constants": _constants, "state": _state, "other RAM": _ram, "stack": _stack,
    "registers": _register, "program counter": _counter, "clock": _clock,
}  # fmt: skip


# ---- what becomes of it ------------------------------------------------------------------------


class Outcome(NamedTuple):
    """What became of a corruption."""

    result: str
    """detected, harmless, hardware or missed."""
    check: str
    after_s: float
    words: str


def outcome(twin: Twin, step: int, corruption: Corruption) -> Outcome:
    """Plays on from a snapshot with the corruption in it, beside the twin."""
    board = Watched(image(), twin.snapshots[step])
    before = board.found()
    corruption.do(board)
    last = min(step + round(1000 * WATCHED_S / STEP_MS), twin.steps)
    differs = None
    for now in range(step, last):
        was = outputs(board)
        do_step(board, twin.pins, now)
        after_s = (now + 1 - step) * STEP_MS / 1000
        found = [name for name, count in board.found().items() if count > before[name]]
        if differs is None and outputs(board) != twin.outputs[now]:
            differs = after_s
        if board.bites or (found and not board.halted):
            result = "hardware" if board.bites else "detected"
            late_s = after_s - (after_s if differs is None else differs)
            words = Aftermath(board, twin, step, now, was, corruption.kind).wrong(found)
            if late_s > DEVIATES_S:
                words = f"only {late_s:.1f} s after the outputs had gone apart"
            return Outcome("missed" if words else result, found[0] if found else "", after_s, words)
    if differs is not None:
        return Outcome("missed", "", differs, "the outputs differ, and nobody says so")
    return Outcome("harmless", "", (last - step) * STEP_MS / 1000, "")


class Aftermath(NamedTuple):
    """What a board does once a check has found something, or the watchdog has bitten."""

    board: Watched
    twin: Twin
    step: int
    """In which the corruption was done."""
    now: int
    """In which it was found."""
    was: tuple[float, ...]
    """Outputs before that."""
    kind: str

    def wrong(self, found: list[str]) -> str:
        """What it does that it should not; else nothing."""
        if not self.board.bites and found == ["constants"]:
            return self._differs_from(self._told_of_constants(), self.now)
        if not self.board.bites and found == ["state"]:
            return self._memory() or self._differs_from(self._again(), self.now)
        return self._waits_safely()

    def _waits_safely(self) -> str:
        """Outputs on their safe side, then the watchdog, then a start from what was kept."""
        board, now, told = self.board, self.now, self.was
        if not board.bites:
            told = tuple(float(value) for value in safe(Commands(*self.was)))
            if outputs(board) != told:
                return f"{outputs(board)}, not safe"
        while not board.bites:
            if now - self.now > WATCHDOG_STEPS:
                return "the watchdog is kicked on"
            now += 1
            do_step(board, self.twin.pins, now)
            if not board.bites and outputs(board) != told:
                return f"{outputs(board)}, not safe while it waits"
        pins = board.pins | dict(zip(OUTPUTS, told, strict=True))
        if outputs(board) != tuple(alone(pins)[name] for name in OUTPUTS):
            return f"{outputs(board)}, not what the hardware does"
        return self._memory() or self._differs_from(self._again(), now)

    def _memory(self) -> str:
        """What is kept is what the twin has kept at some time, or no memory at all.

        Wrong numbers and a wrong clock have been decided with before they were found.
        """
        if self.kind in ("constants", "clock"):
            return ""
        kept = memory_of(self.board)
        known = {self.twin.snapshots[self.step].kept[:-COUNTS_BYTES], *self.twin.kept}
        return "" if kept in known or not self._believed() else "a damaged memory is kept"

    def _believed(self) -> bool:
        """Whether a board goes on from this memory."""
        board = self._again()
        do_step(board, self.twin.pins, self.now)
        for later in range(TICK_STEPS + 1):
            do_step(board, self.twin.pins, self.now + later)
        return as_tuple(State, structure(State).from_buffer_copy(board.kept)).mode.fire != UNKNOWN

    def _again(self) -> Watched:
        """A sound board that is started now, with the same memory and clocks."""
        board = Watched(image())
        board.take_world(self.board)
        board.run()
        return board

    def _told_of_constants(self) -> Watched:
        """A sound board that is told of wrong constants in the tick in which they were found."""
        board = Watched(image(), self.twin.snapshots[self.step])
        for now in range(self.step, self.now):
            do_step(board, self.twin.pins, now)
        board.pins |= self.twin.pins[self.now // TICK_STEPS] | BAD
        board.pass_time(STEP_MS)
        return board

    def _differs_from(self, other: Watched, now: int) -> str:
        """Whether both do the same from here on."""
        for later in range(now + 1, min(now + round(1000 * AFTER_S / STEP_MS), self.twin.steps)):
            do_step(self.board, self.twin.pins, later)
            other.pins |= self.twin.pins[later // TICK_STEPS]
            other.pins |= BAD if self.kind == "constants" else {}
            other.pass_time(STEP_MS)
            if outputs(self.board) != outputs(other):
                return f"{outputs(self.board)}, a sound board does {outputs(other)}"
        return ""
