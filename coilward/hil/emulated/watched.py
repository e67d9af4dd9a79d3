"""An emulated board off the bench with its watchdog, and with what may go wrong in silicon."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any, Final, NamedTuple

from coilward.hil.dead_man import CONTINUOUS
from coilward.hil.emulated.machine import FLASH, FLASH_BYTES, KICK, RAM, RAM_BYTES, Machine
from coilward.simulator.actuators import THERMOSTAT_ON_C

WATCHDOG_MS: Final = 1800
"""As the program takes its board's to be, in running.c."""
HUNG_US: Final = 20_000_000
"""A pass that takes the emulator longer never ends: a sound one takes some milliseconds."""
HUNG_BLOCKS: Final = 400_000
"""The same where blocks are counted: the longest sound pass has a tenth of it."""
CHECKS: Final = ("constants", "state", "decision", "ram", "stack", "flow", "clock")
"""In the order of checks.h."""
Act = Callable[["Watched"], None]


class Due(NamedTuple):
    """What happens before a block of instructions."""

    block: int | None
    """Its number in a pass; None where a call is waited for."""
    call: int
    """Address of the function that is called."""
    act: Act


class Clock(NamedTuple):
    """A clock that showed ``shown_ms`` at ``since_ms``, and goes so many times as fast since."""

    since_ms: int
    shown_ms: float
    rate: float

    def at(self, now_ms: int) -> float:
        """What it shows."""
        return self.shown_ms + self.rate * (now_ms - self.since_ms)


class Snapshot(NamedTuple):
    """A board at rest between two passes."""

    ram: bytes
    registers: tuple[int, ...]
    pc: int
    now_ms: int
    kicked_ms: int
    kept: bytes
    pins: dict[str, float]


class Watched(Machine):
    """Runs for as long as it kicks. A watchdog with a clock of its own does the rest."""

    def __init__(self, image: bytes, snapshot: Snapshot | None = None) -> None:
        """From a start, or from a snapshot on."""
        self._image = image
        self._clocks = [Clock(0, 0.0, 1.0), Clock(0, 0.0, 1.0)]
        self.kicked_ms = 0
        self.bites: list[int] = []
        """When the watchdog restarted the board."""
        self.halted = False
        """The processor has faulted, or hangs: it does nothing any more."""
        self._starved_ms, self._fed_ms = 0, 0
        self._rests = False
        self._due: list[Due] = []
        self._stuck: list[tuple[int, int]] = []
        self.blocks = 0
        """Blocks of instructions of this pass so far, where they are counted."""
        super().__init__(image, bench=False)
        if snapshot is not None:
            self._resume(snapshot)

    def _load(self, image: bytes) -> None:
        super()._load(image)
        for address, mask in self._stuck:
            self._hook_stuck(address, mask)

    # ---- time --------------------------------------------------------------------------------

    def pass_time(self, ms: int) -> None:
        """Time passes, and then the program goes around once, or the watchdog bites."""
        self.now_ms += ms
        if self.now_ms - self.kicked_ms >= WATCHDOG_MS:
            self._bite()
        elif self.now_ms - self._fed_ms >= self._starved_ms:
            self._fed_ms = self.now_ms
            self.run()

    def _bite(self) -> None:
        """The hardware does what it does without a board; then the image starts again."""
        self.bites.append(self.now_ms)
        self.pins |= alone(self.pins)
        flash, ram = self.cpu.mem_read(FLASH, FLASH_BYTES), self.cpu.mem_read(RAM, RAM_BYTES)
        self._load(self._image)
        self.cpu.mem_write(FLASH, bytes(flash))
        self.cpu.mem_write(RAM, bytes(ram))
        self.kicked_ms = self.now_ms
        self.halted = False
        self.run()

    def clock_ms(self, *, other: bool) -> int:
        """What one of the board's two clocks shows."""
        return int(self._clocks[other].at(self.now_ms))

    def set_rate(self, rate: float, *, other: bool = False) -> None:
        """A clock goes wrong from now on: 0 stands still."""
        self._clocks[other] = Clock(self.now_ms, self._clocks[other].at(self.now_ms), rate)

    def starve(self, every_ms: int) -> None:
        """From now on the program gets around once in so many milliseconds."""
        self._starved_ms = every_ms

    # ---- the processor -----------------------------------------------------------------------

    def run(self) -> None:
        """Once around, unless the processor faults or hangs on the way."""
        unicorn: Any = import_module("unicorn")
        hook = self.cpu.hook_add(unicorn.UC_HOOK_BLOCK, self._block) if self._due else None
        if hook is not None:
            self.cpu.ctl_flush_tb()
        self._passes, self.blocks, self._rests = 0, 0, False
        while not self._rests and not self.halted:
            self._jumped = False
            try:
                self.cpu.emu_start(self._pc | 1, 0xFFFF_FFFE, timeout=HUNG_US)
            except unicorn.UcError:
                self.halted = True
            if not self._jumped:
                self._pc = self.cpu.reg_read(self._pc_register)
                self.halted |= not self._rests
        if hook is not None:
            self.cpu.hook_del(hook)
            self.cpu.ctl_flush_tb()
            if self._due and not self.halted:
                raise RuntimeError("the pass has ended before what was to happen in it")
            self._due.clear()

    def _idle(self, cpu: Any, address: int, size: int, data: object) -> None:
        super()._idle(cpu, address, size, data)
        self._rests = self._passes > 1 and not self.come

    def _block(self, _cpu: Any, address: int, _size: int, _data: object) -> None:
        self.blocks += 1
        if self.blocks > HUNG_BLOCKS:
            self.halt()
        for due in list(self._due):
            if self.blocks == due.block or (due.block is None and address == due.call):
                self._due.remove(due)
                due.act(self)

    def _read(self, cpu: Any, offset: int, size: int, data: object) -> int:
        """A read that makes no sense is a fault of the bus."""
        try:
            return super()._read(cpu, offset, size, data)
        except (IndexError, KeyError):
            self.halt()
            return 0

    def _write(self, cpu: Any, offset: int, size: int, value: int, data: object) -> None:
        try:
            super()._write(cpu, offset, size, value, data)
        except (IndexError, KeyError, import_module("unicorn").UcError):
            self.halt()
        if offset == KICK:
            self.kicked_ms = self.now_ms

    # ---- what goes wrong ---------------------------------------------------------------------

    def at_block(self, number: int, act: Act) -> None:
        """Something happens in the next pass, before its block of instructions of this number."""
        self._due.append(Due(number, 0, act))

    def at_call(self, function: str, act: Act) -> None:
        """Something happens when a function is called next, if it is in the next pass."""
        self._due.append(Due(None, self.symbols[function], act))

    def flip(self, address: int, bit: int) -> None:
        """A bit of memory turns over, of flash too. ``bit`` counts on from the address."""
        address += bit // 8
        [byte] = self.cpu.mem_read(address, 1)
        self.cpu.mem_write(address, bytes([byte ^ 1 << bit % 8]))

    def flip_register(self, number: int, bit: int) -> None:
        """A bit of a register turns over: 0 to 12, 13 the stack pointer, 14 the link register."""
        register = self._registers()[number]
        self.cpu.reg_write(register, self.cpu.reg_read(register) ^ 1 << bit)

    def stick(self, address: int, bit: int) -> None:
        """A bit of memory reads 1 from now on, whatever is written."""
        self._stuck.append((address + bit // 8, 1 << bit % 8))
        self._hook_stuck(*self._stuck[-1])
        self.cpu.ctl_flush_tb()

    def _hook_stuck(self, address: int, mask: int) -> None:
        unicorn: Any = import_module("unicorn")

        def read(cpu: Any, _kind: int, at: int, size: int, _value: int, _data: object) -> None:
            if at <= address < at + size:
                cpu.mem_write(address, bytes([cpu.mem_read(address, 1)[0] | mask]))

        self.cpu.hook_add(unicorn.UC_HOOK_MEM_READ, read)

    def jump(self, address: int) -> None:
        """The program counter points elsewhere; in a block's act alone."""
        self._pc, self._jumped = address, True
        self.cpu.emu_stop()

    def halt(self) -> None:
        """The processor stands still."""
        self.halted = True
        self.cpu.emu_stop()

    # ---- what is seen of it ------------------------------------------------------------------

    def found(self) -> dict[str, int]:
        """How often each check has found something, since the start or kept from before it."""
        at = self.symbols["checks_found"]
        words = self.cpu.mem_read(at, 4 * len(CHECKS))
        counts = [int.from_bytes(words[4 * n : 4 * n + 4], "little") for n in range(len(CHECKS))]
        return dict(zip(CHECKS, counts, strict=True))

    def stack_pointer(self) -> int:
        """Where the stack is just now."""
        return int(self.cpu.reg_read(self._registers()[13]))

    def snapshot(self) -> Snapshot:
        """The board as it stands between two passes."""
        registers = tuple(self.cpu.reg_read(each) for each in self._registers())
        ram = bytes(self.cpu.mem_read(RAM, RAM_BYTES))
        return Snapshot(
            ram, registers, self._pc, self.now_ms, self.kicked_ms, self.kept, dict(self.pins)
        )

    def take_world(self, other: Watched) -> None:
        """What is around another board, for one that starts now: clocks, pins, what is kept."""
        self.now_ms = self.kicked_ms = other.now_ms
        self._clocks = list(other._clocks)
        self._starved_ms, self._fed_ms = other._starved_ms, other._fed_ms
        self.kept, self.pins = other.kept, dict(other.pins)

    def _resume(self, was: Snapshot) -> None:
        self.cpu.mem_write(RAM, was.ram)
        for register, value in zip(self._registers(), was.registers, strict=True):
            self.cpu.reg_write(register, value)
        self._pc, self.now_ms, self.kicked_ms = was.pc, was.now_ms, was.kicked_ms
        self.kept, self.pins = was.kept, dict(was.pins)

    def _registers(self) -> list[int]:
        of: Any = import_module("unicorn.arm_const")
        names = [*(f"R{number}" for number in range(13)), "SP", "LR", "XPSR"]
        return [getattr(of, f"UC_ARM_REG_{name}") for name in names]


def alone(pins: dict[str, float]) -> dict[str, float]:
    """What the hardware makes of the outputs when no board drives them.

    The pump's contactor holds itself, the valve stays, the fans stay as they were told but for the
    thermostat beside their output, the damper falls shut, the dump opens, the horn sounds from a
    battery of its own, and nothing is permitted.
    """
    hot = pins["radiator_inlet_c"] >= THERMOSTAT_ON_C
    return {
        "output_pump": pins["output_pump"], "output_valve": pins["output_valve"],
        "output_fans": 1.0 if hot else pins["output_fans"], "output_damper_open": 0.0,
        "output_dump_open": 1.0, "output_horn": float(CONTINUOUS), "output_may_light": 0.0,
    }  # fmt: skip
