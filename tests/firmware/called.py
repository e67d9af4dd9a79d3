"""The core on an emulated processor without a board: blocks of ticks, called as on a computer."""

from __future__ import annotations

import struct
from importlib import import_module
from pathlib import Path

import numpy as np

from coilward.controller.firmware.loop_constants import files_of
from coilward.hil.emulated.building import ARITHMETIC, M4, compiled
from coilward.hil.emulated.counting import Counter
from coilward.hil.emulated.machine import RAM, RAM_BYTES, Machine
from coilward.hil.host_core import FIRMWARE, OUT_FLOATS, OUT_WHOLES
from tests.controller.rig import TODAY
from tests.firmware.wild import Ticks

START = """\
#include "block.h"
#include "loop_constants.h"
void board_idle(void);
void _start(void);
__attribute__((used, retain, noinline)) void board_idle(void) { __asm__ volatile(""); }
__attribute__((used, retain)) void _start(void)
{
    coil_block(&LOOP_CONSTANTS, 0, true, 0, 0, 0, 0, 0, 0);
}
"""
AT_ONCE = 8
"""Ticks whose tables fit the memory together."""
TABLES, STACK = RAM + 0x400, RAM + RAM_BYTES - 64


class Called:
    """One loop's core; ``counter`` counts its decisions."""

    def __init__(self, constants, folder: Path, processor=M4):
        """Compiled in an empty folder."""
        made = {**files_of("called", TODAY, constants), "start.c": START}
        for name, text in made.items():
            (folder / name).write_text(text, "utf-8")
        parts = (FIRMWARE / "core", FIRMWARE / "host", ARITHMETIC, folder)
        self.machine = Machine(compiled(parts, processor))
        self.counter = Counter(self.machine, "coil_decide")

    def block(self, ticks: Ticks):
        """What becomes of each tick from its own state, as `HostCore.block` tells it."""
        count = ticks.came.shape[1]
        told = [
            self._some(Ticks(*(table[..., at : at + AT_ONCE] for table in ticks)))
            for at in range(0, count, AT_ONCE)
        ]
        return tuple(np.concatenate(each, axis=1) for each in zip(*told, strict=True))

    def _some(self, ticks: Ticks):
        cpu, symbols = self.machine.cpu, self.machine.symbols
        at = import_module("unicorn.arm_const")
        count, place, places = ticks.came.shape[1], TABLES, []
        for table, kind in zip(ticks, (np.float64, np.uint64, np.float64, np.int64), strict=True):
            written = np.ascontiguousarray(table, kind).tobytes()
            cpu.mem_write(place, written)
            places.append(place)
            place += len(written)
        out = place, place + OUT_FLOATS * count * 8
        cpu.mem_write(STACK, struct.pack("<7I", 1, *places, *out))
        registers = {
            at.UC_ARM_REG_SP: STACK, at.UC_ARM_REG_R0: symbols["LOOP_CONSTANTS"],
            at.UC_ARM_REG_R2: count, at.UC_ARM_REG_R3: 0,
            at.UC_ARM_REG_LR: symbols["board_idle"] | 1,
        }  # fmt: skip
        for register, value in registers.items():
            cpu.reg_write(register, value)
        cpu.emu_start(symbols["coil_block"] | 1, symbols["board_idle"])
        return (
            self._table(out[0], OUT_FLOATS, count, np.float64),
            self._table(out[1], OUT_WHOLES, count, np.int64),
        )

    def _table(self, place, rows, count, kind):
        raw = self.machine.cpu.mem_read(place, rows * count * 8)
        return np.frombuffer(raw, kind).reshape(rows, count)
