"""The core as machine code of an emulated processor, many ticks in one call.

It is the board's own image, with the function that takes blocks of ticks beside it, and more
memory than a board has for the tables.
"""

from __future__ import annotations

import struct
from datetime import date
from importlib import import_module
from typing import Any, Final

import numpy as np

from coilward.controller.constants import Constants
from coilward.controller.firmware import HOST
from coilward.hil.emulated.building import M4, Processor, build
from coilward.hil.emulated.machine import RAM, RAM_BYTES, Machine
from coilward.hil.host_core import OUT_FLOATS, OUT_WHOLES, tables
from coilward.loop.model import Loop

BLOCK: Final = "coil_block"
TABLES, TABLES_BYTES = 0x6000_0000, 0x0400_0000
_PUSHED: Final = struct.Struct("<7I4x")
"""The third argument and all after it, on a stack that stays whole double words."""


class EmulatedCore:
    """The core with one loop's constants; in the place of a `HostCore`."""

    def __init__(
        self, loop: Loop, constants: Constants, day: date, processor: Processor = M4
    ) -> None:
        """Builds the image. Raises as `build`, and InputRefused where there is no emulator."""
        image = build(
            loop, constants, day, processor, beside=(HOST,), kept=(BLOCK,)
        )
        self.machine = Machine(image, processor=processor)
        self._cpu, self._symbols = self.machine.cpu, self.machine.symbols
        self._registers: Any = import_module("unicorn.arm_const")
        self._cpu.mem_map(TABLES, TABLES_BYTES)

    def block(
        self, came: Any, asked: Any, was_floats: Any, was_wholes: Any, *, each: bool
    ) -> tuple[Any, Any]:
        """As `HostCore.block`.

        Raises ValueError for tables of other sizes, or too large ones; RuntimeError where the
        processor stops on the way.
        """
        given = tables(came, asked, was_floats, was_wholes, each=each)
        ticks = came.shape[1]
        bytes_out = 8 * OUT_FLOATS * ticks, 8 * OUT_WHOLES * ticks
        places = [TABLES]
        for size in (*(table.nbytes for table in given), *bytes_out):
            places.append(places[-1] + size)
        *places, end = places
        if end > TABLES + TABLES_BYTES:
            raise ValueError(f"{ticks} ticks at once are too many for the memory")
        for place, table in zip(places, given, strict=False):
            self._cpu.mem_write(place, table.tobytes())
        self._cpu.mem_write(places[4], b"\1" * sum(bytes_out))
        self._call(ticks, int(each), *places)
        floats, wholes = (
            np.frombuffer(self._cpu.mem_read(place, size), kind).reshape(-1, ticks)
            for place, size, kind in zip(places[4:], bytes_out, (np.float64, np.int64), strict=True)
        )
        return floats, wholes

    def _call(self, ticks: int, *pushed: int) -> None:
        """By the procedure call standard: a 64-bit number has a pair of registers, even first."""
        unicorn: Any = import_module("unicorn")
        at, back = self._registers, self._symbols["board_idle"]
        stack = RAM + RAM_BYTES - _PUSHED.size
        self._cpu.mem_write(stack, _PUSHED.pack(*pushed))
        given = {
            at.UC_ARM_REG_R0: self._symbols["LOOP_CONSTANTS"], at.UC_ARM_REG_R2: ticks,
            at.UC_ARM_REG_R3: 0, at.UC_ARM_REG_SP: stack, at.UC_ARM_REG_LR: back | 1,
        }  # fmt: skip
        for register, value in given.items():
            self._cpu.reg_write(register, value)
        try:
            self._cpu.emu_start(self._symbols[BLOCK] | 1, back)
        except unicorn.UcError as stopped:
            where = self._cpu.reg_read(at.UC_ARM_REG_PC)
            raise RuntimeError(f"the processor stops at {where:#x}: {stopped}") from None
