"""What becomes of a corruption: the board with it is played on beside its twin."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import NamedTuple

from coilward.controller.state import State
from coilward.controller.types import Commands
from coilward.hil.dead_man import safe
from coilward.hil.emulated.machine import OUTPUTS
from coilward.hil.emulated.watched import WATCHDOG_MS, Watched, alone
from tests.firmware.boards import image
from tests.firmware.corruptions import IN_A_TICK, KINDS, Corruption
from tests.firmware.structures import as_tuple, structure
from tests.firmware.twins import (
    COUNTS_BYTES,
    STEP_MS,
    TICK_STEPS,
    Twin,
    do_step,
    memory_of,
    outputs,
    pins_of,
    twin_of,
)

WATCHDOG_STEPS = WATCHDOG_MS // STEP_MS + 1
GOES_ON = {"constants", "state"}
"""Checks after which the board decides on."""
BAD = {"constants_ok": 0.0}
WATCHED_S = 60.0
"""Outputs that equal the twin's for so long have come to no harm."""
AFTER_S = 15.0
"""How long the outputs are looked at after a check has found something, or the watchdog."""
DEVIATES_S = 4.0
"""Outputs may differ from the twin's for so long before somebody finds it."""
NO_MEMORY_S = 1e8
"""A board without a memory has been started before so long ago."""
FIRST_S = 20.0
"""Before that nothing is corrupted: the board has just been started."""


class Played(NamedTuple):
    """One corruption of a campaign, and what became of it."""

    night: str
    at_s: float
    corruption: Corruption
    outcome: Outcome


def campaign(nights: list[str], lasts_s: float, times: int, seed: int) -> Iterator[Played]:
    """So many corruptions, of every kind in turn, spread over the nights."""
    chance = random.Random(seed)
    for number, night in enumerate(nights):
        pins = pins_of(night, lasts_s)
        plan = []
        for time in range(number, times, len(nights)):
            kind = list(KINDS)[time // len(nights) % len(KINDS)]
            least, most = FIRST_S, lasts_s - WATCHED_S - AFTER_S
            tick = round(chance.uniform(least, most) / (TICK_STEPS * STEP_MS / 1000))
            in_tick = TICK_STEPS - 1 if kind in IN_A_TICK else chance.randrange(TICK_STEPS)
            plan.append((TICK_STEPS * tick + in_tick, KINDS[kind](chance)))
        twin = twin_of(pins, {step for step, _ in plan})
        for step, corruption in plan:
            at_s = step * STEP_MS / 1000
            yield Played(night, at_s, corruption, outcome(twin, step, corruption))


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
    if corruption.share is None:
        corruption.do(board)
    else:
        board.at_block(1 + int(corruption.share * blocks_in(twin, step)), corruption.do)
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
            held = outputs(board) == was != safe_of(was) and not set(found) <= GOES_ON
            result = "hardware" if board.bites or held else "detected"
            late_s = after_s - (after_s if differs is None else differs)
            words = Aftermath(board, twin, step, now, was, corruption.kind).wrong(found)
            if late_s > DEVIATES_S:
                words = f"only {late_s:.1f} s after the outputs had gone apart"
            return Outcome("missed" if words else result, found[0] if found else "", after_s, words)
    if differs is not None:
        return Outcome("missed", "", differs, "the outputs differ, and nobody says so")
    return Outcome("harmless", "", (last - step) * STEP_MS / 1000, "")


def blocks_in(twin: Twin, step: int) -> int:
    """Blocks of instructions that a sound board runs through in a step."""
    board, counted = Watched(image(), twin.snapshots[step]), []
    board.at_call("board_watchdog_kick", lambda board: counted.append(board.blocks))
    do_step(board, twin.pins, step)
    return counted[0]


def safe_of(told: tuple[float, ...]) -> tuple[float, ...]:
    """Outputs of a board that is alone, from those that it had."""
    return tuple(map(float, safe(Commands(*told))))


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
        """Outputs on their safe side, then the watchdog, then a start from what was kept.

        Outputs that nothing vouches for any more are left as they are: the hardware does the rest.
        """
        board, now, told = self.board, self.now, self.was
        if not board.bites:
            told = outputs(board)
            if told not in (safe_of(self.was), self.was):
                return f"{told}, not safe"
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
        kept = as_tuple(State, structure(State).from_buffer_copy(board.kept))
        return kept.ages.reboot_2_s < NO_MEMORY_S

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
