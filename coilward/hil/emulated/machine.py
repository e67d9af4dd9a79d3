"""A processor with memory and a few devices, emulated: it runs until it has nothing to do."""

from __future__ import annotations

import io
import math
import struct
from collections.abc import Callable
from importlib import import_module
from typing import Any, Final

from coilward.controller.types import Commands
from coilward.hil.emulated.building import M4, Processor, need
from coilward.hil.messages import TICK_PARTS

FLASH, FLASH_BYTES = 0x0000_0000, 0x0004_0000
RAM, RAM_BYTES, STACK_BYTES = 0x2000_0000, 0x0001_0000, 0x4000
DEVICES, DEVICES_BYTES = 0x4000_0000, 0x1000
ORDER, MS, JUMPER, KICK, OTHER_MS = range(0, 20, 4)
GET, PUT, STORE, LOAD, SEE, SET = range(1, 7)
PINS: Final = tuple(field.name for part in TICK_PARTS for field in part.fields)
OUTPUTS: Final = tuple(f"output_{name}" for name in Commands._fields)
NAMES: Final = (*PINS, *OUTPUTS, "outage")
"""What each pin is, by its place in the firmware."""


class Machine:
    """One board. `come` is what has come over its wire, `gone` what it has sent."""

    def __init__(
        self, image: bytes, *, bench: bool = True, processor: Processor = M4
    ) -> None:
        """Loads an image and stands before its first instruction. ``bench``: the jumper is in.

        Raises InputRefused where the emulator is not installed.
        """
        need("unicorn", "elftools")
        self.come, self.gone = bytearray(), bytearray()
        self.now_ms = 0
        self.bench = bench
        self.kept = b""
        """What outlives a loss of power."""
        self.pins = dict.fromkeys(NAMES, math.nan)
        self.kicks = 0
        self._passes = 0
        self._processor = processor
        self._orders: dict[int, Callable[[int, int], int]] = {
            GET: self._get, PUT: self._put, STORE: self._store, LOAD: self._load_kept,
            SEE: self._see, SET: self._set,
        }  # fmt: skip
        self._load(image)

    def _load(self, image: bytes) -> None:
        from elftools.elf.elffile import ELFFile

        unicorn: Any = import_module("unicorn")
        arm_const: Any = import_module("unicorn.arm_const")
        self.cpu = unicorn.Uc(unicorn.UC_ARCH_ARM, unicorn.UC_MODE_THUMB | unicorn.UC_MODE_MCLASS)
        self.cpu.ctl_set_cpu_model(getattr(arm_const, f"UC_CPU_ARM_{self._processor.emulated}"))
        self.cpu.mem_map(FLASH, FLASH_BYTES, unicorn.UC_PROT_READ | unicorn.UC_PROT_EXEC)
        self.cpu.mem_map(RAM, RAM_BYTES, unicorn.UC_PROT_READ | unicorn.UC_PROT_WRITE)
        self.cpu.mmio_map(DEVICES, DEVICES_BYTES, self._read, None, self._write, None)
        elf = ELFFile(io.BytesIO(image))
        for segment in elf.iter_segments("PT_LOAD"):
            if segment["p_filesz"]:
                self.cpu.mem_write(segment["p_paddr"], segment.data())
        table: Any = elf.get_section_by_name(".symtab")
        self.symbols = {each.name: each["st_value"] & ~1 for each in table.iter_symbols()}
        self.extents = {
            each.name: each["st_size"] for each in table.iter_symbols() if each["st_size"]
        }
        """Bytes of every function and table."""
        self.sizes = {
            section.name: section["sh_size"] for section in elf.iter_sections()
            if section["sh_flags"] & 2
        }  # fmt: skip
        stack, start = struct.unpack("<II", self.cpu.mem_read(FLASH, 8))
        self.cpu.reg_write(arm_const.UC_ARM_REG_SP, stack)
        self._pc_register = arm_const.UC_ARM_REG_PC
        self._pc = start & ~1
        idle = self.symbols["board_idle"]
        self.cpu.hook_add(unicorn.UC_HOOK_CODE, self._idle, None, idle, idle)

    def run(self) -> None:
        """Once around its main loop, and on until nothing is left that has come."""
        self._passes = 0
        self.cpu.emu_start(self._pc | 1, 0xFFFF_FFFE)
        self._pc = self.cpu.reg_read(self._pc_register)

    def _idle(self, cpu: Any, _address: int, _size: int, _data: object) -> None:
        """Stopping anywhere else, as in a device's callback, would break the processor's state."""
        self._passes += 1
        if self._passes > 1 and not self.come:
            cpu.emu_stop()

    def _read(self, _cpu: Any, offset: int, _size: int, _data: object) -> int:
        if offset in (MS, OTHER_MS):
            return self.clock_ms(other=offset == OTHER_MS) & 0xFFFF_FFFF
        if offset == JUMPER:
            return int(self.bench)
        return 0

    def clock_ms(self, *, other: bool) -> int:  # noqa: ARG002 - alike, as long as they are sound
        """What one of the board's two clocks shows."""
        return self.now_ms

    def _write(self, cpu: Any, offset: int, _size: int, value: int, _data: object) -> None:
        if offset == ORDER:
            what, address, size = struct.unpack("<III", cpu.mem_read(value, 12))
            done = self._orders[what](address, size)
            cpu.mem_write(value + 12, done.to_bytes(4, "little"))
        elif offset == KICK:
            self.kicks += 1

    def _get(self, address: int, size: int) -> int:
        piece = bytes(self.come[:size])
        del self.come[:size]
        if piece:
            self.cpu.mem_write(address, piece)
        return len(piece)

    def _put(self, address: int, size: int) -> int:
        self.gone += self.cpu.mem_read(address, size)
        return size

    def _store(self, address: int, size: int) -> int:
        self.kept = bytes(self.cpu.mem_read(address, size))
        return size

    def _load_kept(self, address: int, size: int) -> int:
        if len(self.kept) != size:
            return 0
        self.cpu.mem_write(address, self.kept)
        return size

    def _see(self, address: int, pin: int) -> int:
        self.cpu.mem_write(address, struct.pack("<d", self.pins[NAMES[pin]]))
        return 8

    def _set(self, address: int, pin: int) -> int:
        (self.pins[NAMES[pin]],) = struct.unpack("<d", self.cpu.mem_read(address, 8))
        return 8
