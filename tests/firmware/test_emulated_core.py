"""The core's machine code on emulated processors, against the controller it was made from.

A share of what `python -m benchmarks.firmware emulated` does.
"""

from __future__ import annotations

from functools import cache
from shutil import copytree

import numpy as np
import pytest

from coilward.hil.emulated import building
from coilward.hil.emulated.building import M0_PLUS, M4, Processor
from coilward.hil.emulated.core import EmulatedCore
from coilward.loop.document import read_loop
from tests.controller.rig import TODAY, constants_of
from tests.firmware.replayed import difference_on
from tests.firmware.wild import decided_by_python, difference, ticks_of
from tests.hil import made

COUNTS = {M4: 10_000, M0_PLUS: 2_000}
EPISODES = (
    ("pump-dies", "greenhouse"), ("outlet-a-open", "boathouse"), ("board-reboots", "hot-tub"),
)  # fmt: skip


@cache
def core(loop: str, processor: Processor) -> EmulatedCore:
    return EmulatedCore(read_loop(loop), constants_of(loop), TODAY, processor)


def differs_on(one, seed, count) -> str:
    """How random ticks differ."""
    constants = constants_of("greenhouse")
    ticks = ticks_of(seed, count, constants)
    theirs = decided_by_python(ticks, constants, range(count))
    return difference(one.block(*ticks, each=True), theirs)


@pytest.mark.parametrize("processor", COUNTS, ids=lambda one: one.name)
def test_every_bit_of_wild_ticks(processor):
    assert differs_on(core("greenhouse", processor), 1, COUNTS[processor]) == ""


@pytest.mark.parametrize(("fault", "loop"), EPISODES)
def test_every_bit_of_ten_minutes_after_a_fault(fault, loop):
    assert difference_on(made.night(fault, "11 min", "1 min", loop), core(loop, M4)) == ""


def test_a_mistake_in_the_machine_code_is_found(monkeypatch, tmp_path):
    """One limit that is reached a tick too late, in one file of the sources."""
    sound = core("greenhouse", M4)
    copytree(building.FOLDERS[0], tmp_path / "core")
    changed = tmp_path / "core" / "causing.c"
    right, wrong = "watch->mute_s <= 0.0", "watch->mute_s < 0.0"
    assert right in changed.read_text("ascii")
    changed.write_text(changed.read_text("ascii").replace(right, wrong), "ascii")
    monkeypatch.setattr(building, "FOLDERS", (tmp_path / "core", *building.FOLDERS[1:]))
    mistaken = EmulatedCore(read_loop("greenhouse"), constants_of("greenhouse"), TODAY)
    assert differs_on(sound, 1, 500) == ""
    assert differs_on(mistaken, 1, 500) != ""


def test_a_processor_that_stops_is_told(monkeypatch):
    ticks = ticks_of(1, 1, constants_of("greenhouse"))
    monkeypatch.setitem(core("greenhouse", M4)._symbols, "coil_block", 0x3000_0000)
    with pytest.raises(RuntimeError, match="the processor stops at 0x30000000"):
        core("greenhouse", M4).block(*ticks, each=True)


def test_too_many_ticks_at_once_are_refused():
    rows = [np.zeros((count, 50_000)) for count in (25, 76, 30)]
    with pytest.raises(ValueError, match="50000 ticks at once are too many"):
        core("greenhouse", M4).block(rows[0], np.zeros(50_000), *rows[1:], each=True)
