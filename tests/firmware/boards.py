"""Emulated boards of the greenhouse, built once a process, on a clock of the test."""

from __future__ import annotations

from functools import cache

from coilward.hil.emulated.building import M4, build
from coilward.hil.emulated.machine import Machine
from coilward.hil.emulated.port import EmulatedPort
from tests.hil.pairs import CONSTANTS, LOOP, TODAY

IDLE_MS = 20


@cache
def image(processor=M4):
    return build(LOOP, CONSTANTS, TODAY, processor)


class Waiting(EmulatedPort):
    """A port whose waits take time on the clock of the test alone."""

    def __init__(self, machine, now_s):
        super().__init__(machine)
        self.now_s = now_s

    def wait(self) -> int:
        self.now_s[0] += IDLE_MS / 1000
        return IDLE_MS


def board(processor=M4) -> tuple[Machine, Waiting]:
    """A board fresh from the factory, and its port."""
    machine = Machine(image(processor), processor=processor)
    return machine, Waiting(machine, [0.0])
