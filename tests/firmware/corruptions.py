"""What may go wrong in a board, drawn at random."""

from __future__ import annotations

import ctypes
import random
from collections.abc import Callable
from typing import NamedTuple

from coilward.controller.constants import Constants
from coilward.controller.state import State
from coilward.controller.types import Commands
from coilward.hil.emulated.machine import RAM, RAM_BYTES
from coilward.hil.emulated.watched import Watched
from tests.firmware.structures import structure
from tests.firmware.twins import STEP_MS

POINTERS_BYTES = 16
"""Of the logic's side, before its state."""
IN_A_TICK = ("stack", "registers", "program counter")
"""Kinds that happen while the program is at work; the others between two passes."""


class Corruption(NamedTuple):
    """One thing that goes wrong, once."""

    kind: str
    words: str
    do: Callable[[Watched], None]
    share: float | None = None
    """How far into the tick's instructions, 0 to 1; None between two passes."""


def stack_flip(share: float, bit: int) -> Callable[[Watched], None]:
    """A bit of the stack in use, at whatever depth it is then."""

    def act(board: Watched) -> None:
        pointer = board.stack_pointer()
        size = max(RAM + RAM_BYTES - pointer, 1)
        board.flip(pointer + int(share * size), bit)

    return act


def _constants(chance: random.Random) -> Corruption:
    name, kind = chance.choice([("LOOP_CONSTANTS", Constants), ("LOOP_WIRING", None)])
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
    share = chance.random()
    return Corruption(kind, f"{words}, at {share:.4f} of the tick", act, share)


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
