"""What an emulated board remembers, read out of its memory."""

from __future__ import annotations

import struct
from typing import Final

from coilward.controller.state import State
from coilward.hil.emulated.machine import Machine
from coilward.hil.tick import FIELDS, unflat

_MEMBER: Final = struct.Struct("<HBx")
"""An entry of MEMBERS in coilward/hil/firmware/memory.c: where a number stands, and its kind."""


def state_in(machine: Machine) -> State:
    """The state as the processor's memory has it now."""
    (place,) = struct.unpack("<I", machine.cpu.mem_read(machine.symbols["STATE_PLACE"], 4))
    base = machine.symbols["side"] + place
    table = machine.cpu.mem_read(machine.symbols["MEMBERS"], _MEMBER.size * len(FIELDS))
    floats: list[float] = []
    wholes: list[int] = []
    for (offset, _), (_, kind) in zip(_MEMBER.iter_unpack(table), FIELDS, strict=True):
        held = machine.cpu.mem_read(base + offset, 1 if kind is bool else 8)
        if kind is float:
            floats += struct.unpack("<d", held)
        else:
            wholes.append(int.from_bytes(held, "little", signed=True))
    return unflat(floats, wholes)
