"""A tick as a column of words of 64 bits: what came, what was remembered, what was decided.

Names, not places, tell what a number is: each session of a file lists its own.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from functools import cache
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.state import State
from coilward.controller.types import Commands, Readings
from coilward.hil.tick import FLOATS, WHOLES, Tick, asked, flat, requests_of, unflat

Words = NDArray[np.uint64]
"""One row a column, one column a tick."""

SWITCHES: Final = ("pump", "damper_open", "dump_open", "horn", "may_light")
HEAD: Final = ("number", "requests", "wall_s", "late_s")
MEMORY: Final = FLOATS
FACTS: Final = ("valve", "fans", *WHOLES, *SWITCHES)
"""Memory and facts, one after the other, are in the order of `coilward.hil.tick.digest`."""
WHOLE_NUMBERS: Final = frozenset((*HEAD[:2], *WHOLES, *SWITCHES))
RAW: Final = "raw_"
"""Before the name of a value as it came over a wire."""


class Layout(NamedTuple):
    """The names of all numbers of a tick, in order, in three groups."""

    inputs: tuple[str, ...]
    memory: tuple[str, ...] = MEMORY
    facts: tuple[str, ...] = FACTS

    @property
    def names(self) -> tuple[str, ...]:
        """Every name."""
        return (*self.inputs, *self.memory, *self.facts)

    @property
    def raw(self) -> int:
        """How many values as they came over a wire a tick has."""
        return sum(name.startswith(RAW) for name in self.inputs)

    def is_ours(self) -> bool:
        """Whether this program has the same names, and may so take ticks and states from it."""
        return self == layout_of([name.removeprefix(RAW) for name in self.inputs[-self.raw :]]
                                 if self.raw else ())  # fmt: skip


@cache
def _layout(raw: tuple[str, ...]) -> Layout:
    return Layout((*HEAD, *Readings._fields, *(RAW + name for name in raw)))


def layout_of(raw: Sequence[str] = ()) -> Layout:
    """The layout of this program, with these values of a wire."""
    return _layout(tuple(raw))


@cache
def _packer(layout: Layout) -> struct.Struct:
    return struct.Struct("<" + "".join("q" if n in WHOLE_NUMBERS else "d" for n in layout.names))


def packed(tick: Tick, layout: Layout) -> bytes:
    """The words of one tick.

    Values of a wire that are not there are NaN. Raises ValueError where there are others than
    the layout names.
    """
    missing = layout.raw - len(tick.raw)
    if missing and tick.raw:
        raise ValueError(f"a tick with {len(tick.raw)} values of a wire, not {layout.raw}")
    floats, wholes = flat(tick.state)
    pump, valve, fans, damper_open, dump_open, horn, may_light = tick.commands
    return _packer(layout).pack(
        tick.number, asked(tick.requests), tick.wall_s, tick.late_s, *tick.readings, *tick.raw,
        *[float("nan")] * missing, *floats, valve, fans, *wholes, pump, damper_open, dump_open,
        horn, may_light,
    )  # fmt: skip


def unpacked(words: bytes, layout: Layout) -> Tick:
    """The tick of these words. Raises ValueError where the layout is another program's."""
    if not layout.is_ours() or len(words) != _packer(layout).size:
        raise ValueError("these ticks were written by another version of the program")
    row = list(_packer(layout).unpack(words))
    number, mask, wall_s, late_s = row[:4]
    end = 4 + len(Readings._fields)
    readings, rest = Readings._make(row[4:end]), row[len(layout.inputs) :]
    raw = row[end : len(layout.inputs)]
    floats, facts = rest[: len(MEMORY)], rest[len(MEMORY) :]
    valve, fans, *wholes = facts
    pump, damper_open, dump_open, horn, may_light = wholes[len(WHOLES) :]
    commands = Commands(
        bool(pump), valve, fans, bool(damper_open), bool(dump_open), horn, bool(may_light)
    )
    came = () if all(value != value for value in raw) else tuple(raw)
    state = unflat(floats, wholes[: len(WHOLES)])
    return Tick(number, wall_s, late_s, came, readings, requests_of(mask), commands, state)


def state_words(state: State) -> bytes:
    """A state alone, as its floats and its whole numbers."""
    floats, wholes = flat(state)
    return struct.pack(f"<{len(floats)}d{len(wholes)}q", *floats, *wholes)


def state_of_words(words: bytes) -> State:
    """The state of these words. Raises ValueError where there are too few or too many."""
    if len(words) != 8 * (len(FLOATS) + len(WHOLES)):
        raise ValueError("this state was written by another version of the program")
    row: tuple[Any, ...] = struct.unpack(f"<{len(FLOATS)}d{len(WHOLES)}q", words)
    return unflat(row[: len(FLOATS)], row[len(FLOATS) :])


def block(rows: Sequence[bytes]) -> Words:
    """Many ticks, each column's numbers side by side. There must be at least one."""
    flat_words: Words = np.frombuffer(b"".join(rows), dtype="<u8")
    return np.ascontiguousarray(flat_words.reshape(len(rows), -1).T)


def row_of(words: Words, place: int) -> bytes:
    """One tick of many, as `packed` made it."""
    return words[:, place].tobytes()


def as_numbers(name: str, words: Words) -> NDArray[Any]:
    """The numbers of a column: float64, or int64 for what is whole."""
    return words.view(np.int64 if name in WHOLE_NUMBERS else np.float64)


def checksum(words: bytes) -> int:
    """CRC-32 of the words of one tick."""
    return zlib.crc32(words)
