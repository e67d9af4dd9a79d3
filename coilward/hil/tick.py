"""One tick as it is sent, kept and compared: every number of it, in one fixed order.

A state is a tree of plain numbers. On a wire, in a journal and in a checksum it is two rows:
its floats, and its whole numbers (switches among them), each in the order of the fields.
"""

from __future__ import annotations

import math
import struct
import zlib
from collections.abc import Sequence
from typing import Any, NamedTuple, get_type_hints

from coilward.controller.debounce import PLANES
from coilward.controller.plausibility import Doubt
from coilward.controller.state import Ages, Control, Mode, State, Watch
from coilward.controller.types import Commands, Readings, Requests

PARTS: tuple[tuple[str, Any], ...] = (
    ("mode", Mode), ("ages", Ages), ("watch", Watch), ("doubt", Doubt), ("control", Control),
)  # fmt: skip
"""The parts of a state that have fields; the counters and two masks follow them."""


class Tick(NamedTuple):
    """All of one tick: what came, what was asked, what was decided, and what is remembered."""

    number: int
    """Counted from the start of the session; with the first tick at 0."""
    wall_s: float
    """Seconds since 1970 by the clock of the machine that decided: only to be shown."""
    late_s: float
    """How long after its due time the tick was decided."""
    raw: tuple[float, ...]
    """Values as they came over a wire, in the order of `messages.RAW`; empty where none did."""
    readings: Readings
    requests: Requests
    commands: Commands
    state: State
    """After the decision."""


def _fields() -> list[tuple[str, type]]:
    found = [
        (f"{part}_{name}", get_type_hints(kind)[name]) for part, kind in PARTS
        for name in kind._fields
    ]  # fmt: skip
    found += [(f"counters_{plane}", int) for plane in range(PLANES)]
    return [*found, ("raised", int), ("seen", int)]


FIELDS = _fields()
"""Name and kind of every number of a state, in order."""
FLOATS = tuple(name for name, kind in FIELDS if kind is float)
WHOLES = tuple(name for name, kind in FIELDS if kind is not float)
_IS_FLOAT = tuple(kind is float for _, kind in FIELDS)
_BOOLS = tuple(kind is bool for _, kind in FIELDS)


def flat(state: State) -> tuple[list[float], list[int]]:
    """The floats and the whole numbers of a state, in the order of `FLOATS` and `WHOLES`."""
    row = (
        *state.mode, *state.ages, *state.watch, *state.doubt, *state.control, *state.counters,
        state.raised, state.seen,
    )  # fmt: skip
    floats: list[float] = []
    wholes: list[int] = []
    for value, is_float in zip(row, _IS_FLOAT, strict=True):
        if is_float:
            floats.append(value)
        else:
            wholes.append(int(value))
    return floats, wholes


def unflat(floats: Sequence[float], wholes: Sequence[int]) -> State:
    """The state of these numbers. Raises ValueError where there are too few or too many."""
    if len(floats) != len(FLOATS) or len(wholes) != len(WHOLES):
        raise ValueError(f"a state has {len(FLOATS)} floats and {len(WHOLES)} whole numbers")
    of_floats, of_wholes = iter(floats), iter(wholes)
    row: list[Any] = []
    for is_float, is_bool in zip(_IS_FLOAT, _BOOLS, strict=True):
        value: Any = float(next(of_floats)) if is_float else int(next(of_wholes))
        row.append(bool(value) if is_bool else value)
    parts: list[Any] = []
    for _, kind in PARTS:
        size = len(kind._fields)
        parts.append(kind(*row[:size]))
        del row[:size]
    mode, ages, watch, doubt, control = parts
    *counters, raised, seen = row
    planes: Any = tuple(counters)
    return State(mode, ages, watch, doubt, control, planes, raised, seen)


def asked(requests: Requests) -> int:
    """Requests as a mask: bit n is the n-th field."""
    return sum(1 << place for place, held in enumerate(requests) if held)


def requests_of(mask: int) -> Requests:
    """The requests of a mask. Raises ValueError for a bit that no request has."""
    if not 0 <= mask < 1 << len(Requests._fields):
        raise ValueError(f"requests are a mask of {len(Requests._fields)} bits, not {mask}")
    return Requests(*(bool(mask >> place & 1) for place in range(len(Requests._fields))))


NAN = math.nan
_DIGESTED = struct.Struct(f"<{len(FLOATS) + 2}d{len(WHOLES) + 5}q")


def digest(state: State, commands: Commands) -> int:
    """CRC-32 over a state and the commands that came with it: equal bits, equal digest.

    The floats as IEEE 754 doubles (the state's, then valve and fans), then the whole numbers in 64
    bits (the state's, then pump, damper, dump, horn and permission), little-endian. Every NaN
    counts as the same one: machines differ in the sign that they give it.
    """
    floats, wholes = flat(state)
    floats = [value if value == value else NAN for value in floats]
    pump, valve, fans, damper_open, dump_open, horn, may_light = commands
    return zlib.crc32(
        _DIGESTED.pack(
            *floats, valve, fans, *wholes, pump, damper_open, dump_open, horn, may_light
        )
    )
