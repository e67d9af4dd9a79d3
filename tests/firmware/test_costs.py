"""What one decision costs a Cortex-M4 at most, counted on the emulated processor.

Wild ticks, and the dearest that a search has made of them: `python -m benchmarks.dearest`. No fire
leads to those: all of the logic is at work in one tick, on numbers that are the slowest to reckon.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from coilward.hil.emulated.core import EmulatedCore
from coilward.hil.emulated.counting import Counter
from coilward.hil.host_core import HostCore
from coilward.hil.tick import FIELDS
from coilward.loop.document import read_loop
from tests.controller.rig import TODAY
from tests.firmware.test_core_agrees import ALL
from tests.firmware.wild import Ticks, difference, ticks_of

MOST = 20_000
"""Instructions of a decision."""
RAM_BYTES = 4096
COUNT = 400
WIRED = read_loop("greenhouse")
"""Whatever the constants are: the wires have no part in a decision."""
DEAREST = Path(__file__).with_name("dearest_ticks.npz")


@cache
def decided(loop):
    """The ticks of a loop, what the M4 made of them, and its counter."""
    constants = ALL[loop]()
    wild = ticks_of(len(loop), COUNT, constants)
    with np.load(DEAREST) as kept:
        dearest = Ticks(*(kept[f"{loop} {name}"] for name in Ticks._fields))
    ticks = Ticks(*(np.concatenate(pair, axis=-1) for pair in zip(wild, dearest, strict=True)))
    core = EmulatedCore(WIRED, constants, TODAY)
    counter = Counter(core.machine, "coil_decide")
    return ticks, core.block(*ticks, each=True), counter


@pytest.mark.parametrize("loop", ALL)
def test_a_decision_takes_at_most_so_many_instructions(loop):
    ticks, _, counter = decided(loop)
    wild, searched = counter.counts[:COUNT], counter.counts[COUNT:]
    assert len(wild) + len(searched) == ticks.came.shape[1] > COUNT
    assert min(wild) > 5000
    assert max(wild) < max(searched) <= MOST


@pytest.mark.parametrize("loop", ALL)
def test_state_and_stack_fit_the_memory(loop):
    _, _, counter = decided(loop)
    assert 2000 < 8 * len(FIELDS) + counter.stack <= RAM_BYTES


@pytest.mark.parametrize("loop", ALL)
def test_every_bit_is_that_of_a_computers_core(loop):
    ticks, made, _ = decided(loop)
    assert difference(made, HostCore(ALL[loop]()).block(*ticks, each=True)) == ""
