"""Counts what the processor does: instructions of a function, and how deep the stack gets."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from coilward.hil.emulated.machine import RAM, RAM_BYTES, STACK_BYTES, Machine


class Counter:
    """Counts from every call of a function to its return. Attach it before the machine runs.

    It looks at every block of instructions, so the machine runs much slower.
    """

    def __init__(self, machine: Machine, function: str) -> None:
        """Raises KeyError where the image has no such function."""
        unicorn: Any = import_module("unicorn")
        self._registers: Any = import_module("unicorn.arm_const")
        self.counts: list[int] = []
        """Instructions of each call so far."""
        self.deepest = 0
        """Bytes of the board's own stack in use at most; its start has another, lower down."""
        self.stack = 0
        """Bytes of stack that the function itself took at most, with all that it calls."""
        self._start = machine.symbols[function]
        self._end: int | None = None
        self._from = 0
        self._known: dict[tuple[int, int], int] = {}
        machine.cpu.hook_add(unicorn.UC_HOOK_BLOCK, self._block)

    @property
    def counting(self) -> bool:
        """Whether the function is at work."""
        return self._end is not None

    def _block(self, cpu: Any, address: int, size: int, _data: object) -> None:
        depth = RAM + RAM_BYTES - cpu.reg_read(self._registers.UC_ARM_REG_SP)
        if depth <= STACK_BYTES:
            self.deepest = max(self.deepest, depth)
        if self._end is None and address == self._start:
            self._end = cpu.reg_read(self._registers.UC_ARM_REG_LR) & ~1
            self.counts.append(0)
            self._from = depth
        elif address == self._end:
            self._end = None
        if self._end is not None:
            self.stack = max(self.stack, depth - self._from)
            self.counts[-1] += self._instructions(cpu, address, size)

    def _instructions(self, cpu: Any, address: int, size: int) -> int:
        """How many instructions a block has: each is one half-word or two."""
        if (address, size) not in self._known:
            code, place, count = cpu.mem_read(address, size), 0, 0
            while place < size:
                place += 4 if code[place + 1] >> 3 in (0b11101, 0b11110, 0b11111) else 2
                count += 1
            self._known[address, size] = count
        return self._known[address, size]
