"""How deep the stack of an image can get at most, from its machine code alone.

Every way through every function is walked, and every call of it followed. What can't be known so
is refused: a function that gets to itself, a call or jump to where a register points, a stack that
grows by a number that isn't written in the instruction.
"""

from __future__ import annotations

import io
import struct
from bisect import bisect_right
from functools import cached_property
from importlib import import_module
from typing import Any, Final, NamedTuple

from coilward.hil.emulated.building import need
from coilward.hil.emulated.machine import RAM

EXCEPTION_BYTES: Final = 36
"""Eight registers that the processor keeps itself, and a word that makes them double words."""
MAIN: Final = "tried"
NEW_STACK: Final = {"_start": MAIN}
"""A function that ends on another stack, and the function that begins there (board.c)."""
FIRST_STACK_BYTES: Final = 256
"""FIRST_STACK in board.c."""


PADDING: Final = ("nop", "mov r8, r8")
"""In front of numbers, where no way leads."""


class NoBoundError(ValueError):
    """A stack whose depth the machine code alone does not tell."""


class Deepest(NamedTuple):
    """A stack as deep as it gets."""

    size: int
    """In bytes."""
    path: tuple[str, ...]
    """The calls that lead there."""
    returns: bool = False
    """Whether the first of them comes back at all."""


class StackBound:
    """Of one image."""

    def __init__(self, image: bytes) -> None:
        """Raises InputRefused where one of the libraries is not installed."""
        need("capstone", "elftools")
        from elftools.elf.elffile import ELFFile

        self._elf = ELFFile(io.BytesIO(image))
        table: Any = self._elf.get_section_by_name(".symtab")
        symbols = [(each["st_value"], each["st_size"], each["st_info"]["type"], each.name)
                   for each in table.iter_symbols()]  # fmt: skip
        functions = [each for each in symbols if each[2] == "STT_FUNC" and each[1]]
        self._functions = {value & ~1: (name, size) for value, size, _, name in functions}
        self._places = {name: value & ~1 for value, _, _, name in functions}
        self._kinds = sorted((value & ~1, name[:2]) for value, _, _, name in symbols
                             if name[:2] in ("$t", "$d"))  # fmt: skip
        self._found: dict[int, Deepest] = {}
        self._open: list[int] = []
        """Functions that are being walked, each called by the one before it."""

    @cached_property
    def _decoder(self) -> Any:
        capstone: Any = import_module("capstone")
        decoder = capstone.Cs(
            capstone.CS_ARCH_ARM, capstone.CS_MODE_THUMB | capstone.CS_MODE_MCLASS
        )
        decoder.detail = True
        return decoder

    def board(self) -> Deepest:
        """All that runs on the board's own stack, and a fault of the processor on top of it.

        Raises NoBoundError, also where the start takes more than its first stack has.
        """
        vectors = struct.unpack("<16I", self._bytes(0, 64))
        first = self.of(vectors[1] & ~1)
        if first.size > FIRST_STACK_BYTES or vectors[0] != RAM + FIRST_STACK_BYTES:
            raise NoBoundError(f"the start takes {first.size} bytes")
        handler = max(self.of(each & ~1) for each in vectors[2:] if each)
        main = self.function(MAIN)
        size = main.size + EXCEPTION_BYTES + handler.size
        return Deepest(size, (*main.path, "a fault", *handler.path))

    def function(self, name: str) -> Deepest:
        """A function with all that it calls. Raises NoBoundError, KeyError where there is none."""
        return self.of(self._places[name])

    def of(self, address: int) -> Deepest:
        """The same by its address."""
        name = self._name(address)
        if address in self._open:
            raise NoBoundError(f"{name} gets to itself")
        if address not in self._found:
            self._open.append(address)
            try:
                self._found[address] = self._walk(address, name)
            finally:
                self._open.pop()
        return self._found[address]

    def _name(self, address: int) -> str:
        if address not in self._functions:
            raise NoBoundError(f"no function begins at {address:#x}")
        return str(self._functions[address][0])

    def _bytes(self, address: int, size: int) -> bytes:
        for segment in self._elf.iter_segments("PT_LOAD"):
            place = address - segment["p_vaddr"]
            if place >= 0 and place + size <= segment["p_filesz"]:
                return bytes(segment.data()[place : place + size])
        raise NoBoundError(f"nothing is at {address:#x}")

    def _code(self, address: int) -> dict[int, Any]:
        """The instructions of a function by their addresses, without the numbers between them."""
        name, size = self._functions[address]
        end, edges = address + size, [place for place, _ in self._kinds]
        found: dict[int, Any] = {}
        for begin in sorted({address, *(each for each in edges if address < each < end)}):
            at = bisect_right(edges, begin)
            stop = min([end, *edges[at : at + 1]])
            if self._kinds[at - 1][1] == "$t":
                decoded = list(self._decoder.disasm(self._bytes(begin, stop - begin), begin))
                if sum(each.size for each in decoded) != stop - begin:
                    raise NoBoundError(f"{name} has instructions that nobody knows")
                found |= {each.address: each for each in decoded}
        return found

    def _walk(self, address: int, name: str) -> Deepest:
        """Every way through a function, with the bytes of stack taken on it."""
        code, depths = self._code(address), dict[int, int]()
        deepest, returns = Deepest(0, (name,)), False
        tables: set[int] = set()
        """Depths at which a jump by a table is: it goes wherever nothing else leads to."""
        ways = [(address, 0)]
        while ways:
            place, depth = ways.pop()
            if depths.setdefault(place, depth) != depth:
                raise NoBoundError(f"{name} comes to {place:#x} in two depths")
            step = _step(code[place], depth, name)
            goes, returns = step.goes, returns or step.returns
            deepest = max(deepest, Deepest(step.depth, (name,)))
            if step.table:
                tables.add(depth)
            called = [each for each in goes if each not in code]
            if step.call in code and step.call != address and step.surely:
                goes = (step.call,)  # a far jump, where the processor has no other
            elif step.call is not None:
                called.append(step.call)
            for each in called:
                below = self.of(each)
                deepest = max(
                    deepest, Deepest(step.depth + below.size, (name, *below.path))
                )
                returns |= below.returns and each in goes
                if each == step.call and step.surely and not below.returns:
                    goes = ()
            ways += [(to, step.depth) for to in goes
                     if to in code and depths.get(to) != step.depth]  # fmt: skip
            left = sorted(at for at in set(code) - set(depths) if _text(code[at]) not in PADDING)
            if not ways and tables and left:
                if len(tables) > 1:
                    raise NoBoundError(f"{name} has tables in two depths")
                ways.append((left[0], max(tables)))
        return deepest._replace(returns=returns)


class Step(NamedTuple):
    """What an instruction does to the stack, and where it leads."""

    depth: int
    goes: tuple[int, ...] = ()
    call: int | None = None
    surely: bool = True
    """Whether the call is made whatever was compared."""
    returns: bool = False
    table: bool = False


def _text(one: Any) -> str:
    return f"{one.mnemonic} {one.op_str}".rstrip()


def _step(one: Any, depth: int, name: str) -> Step:
    arm: Any = import_module("capstone.arm_const")
    beyond, always = one.address + one.size, one.cc in (arm.ARM_CC_AL, arm.ARM_CC_INVALID)
    otherwise = () if always else (beyond,)
    registers = [each.reg for each in one.operands if each.type == arm.ARM_OP_REG]
    numbers = [each.imm for each in one.operands if each.type == arm.ARM_OP_IMM]
    _, written = one.regs_access()
    refused = NoBoundError(f"{name} has {_text(one)}")
    if one.id == arm.ARM_INS_BL:
        return Step(depth, (beyond,), numbers[0], always)
    if one.id in (arm.ARM_INS_B, arm.ARM_INS_CBZ, arm.ARM_INS_CBNZ):
        return Step(depth, (numbers[-1], *(otherwise if one.id == arm.ARM_INS_B else (beyond,))))
    if one.id in (arm.ARM_INS_TBB, arm.ARM_INS_TBH):
        return Step(depth, table=True)
    if one.id == arm.ARM_INS_ADD and registers[0] == arm.ARM_REG_PC:
        return Step(depth, table=True)
    if arm.ARM_REG_SP in written and name in NEW_STACK and one.id == arm.ARM_INS_MOV:
        return Step(depth)
    if arm.ARM_REG_SP in written:
        after = depth + _grown(one, registers, numbers, refused)
        if arm.ARM_REG_PC in registers and after == 0:
            return Step(depth, otherwise, returns=True)
        if always and arm.ARM_REG_PC not in registers:
            return Step(after, (beyond,))
        raise refused
    if one.id == arm.ARM_INS_BX and registers == [arm.ARM_REG_LR] and depth == 0:
        return Step(depth, otherwise, returns=True)
    if one.id in (arm.ARM_INS_UDF, arm.ARM_INS_TRAP):
        return Step(depth)
    anywhere = (arm.ARM_INS_BX, arm.ARM_INS_BLX, arm.ARM_INS_MSR)
    if one.id in anywhere or arm.ARM_REG_PC in written:
        raise refused
    return Step(depth, (beyond,))


def _grown(one: Any, registers: list[int], numbers: list[int], refused: NoBoundError) -> int:
    """Bytes by which an instruction that writes the stack pointer makes the stack grow."""
    arm: Any = import_module("capstone.arm_const")
    own = [each for each in registers if each != arm.ARM_REG_SP]
    if one.id in (arm.ARM_INS_PUSH, arm.ARM_INS_POP):
        return 4 * len(registers) * (1 if one.id == arm.ARM_INS_PUSH else -1)
    if one.id in (arm.ARM_INS_ADD, arm.ARM_INS_SUB, arm.ARM_INS_ADDW, arm.ARM_INS_SUBW) \
            and numbers and not own:
        return numbers[0] * (1 if one.id in (arm.ARM_INS_SUB, arm.ARM_INS_SUBW) else -1)
    moving = (arm.ARM_INS_STR, arm.ARM_INS_STRD, arm.ARM_INS_LDR, arm.ARM_INS_LDRD)
    places = [each.mem for each in one.operands if each.type == arm.ARM_OP_MEM]
    if one.id in moving and one.writeback and own == registers \
            and places[0].base == arm.ARM_REG_SP and not places[0].index:
        return -(numbers[0] if numbers else places[0].disp)
    raise refused
