"""A plant's side and a logic's side in one process, with a wire between them."""

from __future__ import annotations

import threading
from collections import deque
from datetime import date

from coilward.controller.constants import constants_for
from coilward.controller.state import YES, State, first_state
from coilward.hil.board import reference_board
from coilward.hil.converting import converter
from coilward.hil.link import Link
from coilward.hil.logic_side import Being, LogicSide
from coilward.hil.plant_side import PlantSide
from coilward.loop.derived import derive
from coilward.loop.document import read_loop

TODAY = date(2026, 11, 27)
LOOP = read_loop("greenhouse")
CONSTANTS = constants_for(LOOP, derive(LOOP, TODAY))
CONVERT = converter(LOOP)
BEING = Being(CONSTANTS.checksum, CONSTANTS.tick_s, "test")


class Memory:
    """One end of a wire in memory."""

    def __init__(self, comes: deque[bytes], goes: deque[bytes], wakes=None) -> None:
        self.comes, self.goes, self.wakes = comes, goes, wakes

    def read(self) -> bytes:
        if not self.comes and self.wakes:
            self.wakes()
        found = b"".join(self.comes)
        self.comes.clear()
        return found

    def write(self, data: bytes) -> None:
        self.goes.append(data)

    def close(self) -> None:
        self.comes.clear()


def board_of(port) -> LogicSide:
    """A reference board of the greenhouse."""
    return reference_board(port, LOOP, TODAY)


def pair(wrap=lambda port: port, make=board_of) -> tuple[PlantSide, LogicSide]:
    """Both sides; whenever the plant waits, the board is served. ``wrap`` spoils the plant's end.

    Nothing waits for time but what counts it, so lost lines cost their pause.
    """
    there: deque[bytes] = deque()
    back: deque[bytes] = deque()
    board = make(Memory(there, back))
    plant_end = Memory(back, there, board.serve)
    return PlantSide(Link(wrap(plant_end)), BEING), board


def running() -> State:
    """A loop in its run phase."""
    return first_state(CONSTANTS, 4, YES)


def in_background(work) -> threading.Thread:
    """Work in a thread that ends with the test run."""
    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    return thread
