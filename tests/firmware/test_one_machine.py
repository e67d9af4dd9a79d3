"""One rule machine for all that decide: the controller interpreted and compiled, C, machine code.

The stories are those of `test_board_machine.py`: buttons, wild readings, reboots, clocks that jump.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, run_state_machine_as_test

from coilward.controller.phases import RUN
from coilward.hil.emulated.building import M0_PLUS, M4
from coilward.hil.emulated.core import EmulatedCore
from coilward.hil.host_core import OUT_FLOATS, OUT_WHOLES, HostCore
from coilward.hil.redeciding.block import redecide
from coilward.hil.tick import asked, flat, unflat
from coilward.simulator.engine import compiled
from tests.controller.rig import TODAY
from tests.firmware.wild import Ticks, columns_of, difference
from tests.properties.test_board_machine import (
    PHASES_AT_FIRST,
    Board,
    board_constants,
    board_loop,
)

LOOPS = 0, 1, 5
"""Two that are shipped and one that is bent, by their numbers there."""


class Compiled:
    """The controller as it is compiled for long runs."""

    def __init__(self, constants):
        self.constants, self.decide = constants, compiled(redecide)

    def __call__(self, ticks):
        """Every tick from its own state."""
        found = []
        for at in range(len(ticks.asked)):
            state = unflat(ticks.floats[:, at].tolist(), ticks.wholes[:, at].tolist())
            floats, wholes = np.empty(OUT_FLOATS), np.empty(OUT_WHOLES, np.int64)
            came, mask = np.ascontiguousarray(ticks.came[:, at]), ticks.asked[at : at + 1]
            self.decide(
                came, mask.astype(np.int64), floats, wholes, 1, 0, 1, state, self.constants
            )
            found.append((floats, wholes))
        return tuple(np.array(rows).T for rows in zip(*found, strict=True))


@cache
def engines(number):
    """All that decide for one loop, but the controller itself."""
    loop, constants = board_loop(number), board_constants(number)
    cores = {
        "C": HostCore(constants), M4.name: EmulatedCore(loop, constants, TODAY, M4),
        M0_PLUS.name: EmulatedCore(loop, constants, TODAY, M0_PLUS),
    }  # fmt: skip
    return {"compiled": Compiled(constants)} | {
        name: lambda ticks, core=core: core.block(*ticks, each=True) for name, core in cores.items()
    }


class Boards(Board):
    """A board whose every tick the others decide again, from the same state."""

    def __init__(self):
        super().__init__()
        self.ticks, self.done = {}, {}

    @initialize(number=st.sampled_from(LOOPS), phase=st.sampled_from(PHASES_AT_FIRST))
    def begin(self, number, phase):
        super().begin(number, phase)

    def tick(self):
        before = self.rig.state
        super().tick()
        given = flat(before), self.rig.given, asked(self.asked)
        self.ticks.setdefault(self.number, []).append(given)
        self.done.setdefault(self.number, []).append((self.rig.state, self.rig.commands))

    def teardown(self):
        for number, given in self.ticks.items():
            before, came, masks = zip(*given, strict=True)
            floats, wholes = (np.array(rows).T for rows in zip(*before, strict=True))
            ticks = Ticks(np.array(came).T, np.array(masks, np.uint64), floats, wholes)
            theirs = columns_of(self.done[number])
            for name, decided in engines(number).items():
                assert not (found := difference(decided(ticks), theirs)), f"{name}: {found}"


def test_all_that_decide_agree():
    run_state_machine_as_test(
        Boards, settings=settings(max_examples=8, stateful_step_count=20, deadline=None)
    )


def test_one_that_decides_otherwise_is_told(monkeypatch):
    """Off by one bit in one number of one tick."""
    sound = engines(LOOPS[0])["C"]

    def wrong(ticks):
        floats, wholes = (table.copy() for table in sound(ticks))
        wholes[-1, -1] ^= 1
        return floats, wholes

    monkeypatch.setattr("tests.firmware.test_one_machine.engines", lambda _: {"C": wrong})
    machine = Boards()
    machine.begin(LOOPS[0], RUN)
    machine.time_passes(5)
    with pytest.raises(AssertionError, match=r"C: tick 4: may_light is \d and \d; 1 ticks differ"):
        machine.teardown()
