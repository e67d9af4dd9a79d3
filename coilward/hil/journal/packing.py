"""Columns of 64-bit words made small without losing a bit, and one tick as a row of words.

A column that stays, or grows evenly as a timer does, is two words. The others are written as
differences from row to row, their bytes put together by weight (the high bytes of neighbours are
alike), and all of it is compressed.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from coilward.controller.state import State
from coilward.controller.types import Commands, Readings
from coilward.hil.journal.schema import FLOAT_NAMES, WHOLE_NAMES
from coilward.hil.tick import Tick, asked, digest, flat, requests_of, unflat

Words = NDArray[np.uint64]

LEVEL: Final = 6
MOST_ROWS: Final = 100_000
_WORD: Final = np.dtype("<u8")
_ROW: Final = struct.Struct(f"<{len(FLOAT_NAMES)}d{len(WHOLE_NAMES)}q")
_OWN_FLOATS: Final = len(Readings._fields) + 4
_OWN_WHOLES: Final = 9


def pack(words: Words) -> bytes:
    """A table of words, a row a column of the journal, as bytes."""
    columns, rows = words.shape
    if columns == 0 or rows == 0:
        return b""
    words = np.ascontiguousarray(words, _WORD)
    steps = np.diff(words, axis=1)
    even = np.ones(columns, bool) if rows < 3 else (steps == steps[:, :1]).all(axis=1)
    step = steps[:, 0] if rows > 1 else np.zeros(columns, _WORD)
    rest = np.ascontiguousarray(steps[~even]).view(np.uint8).reshape(-1, 8).T
    parts = (even.astype(np.uint8).tobytes(), words[:, 0].tobytes(), step.tobytes(), rest.tobytes())
    return zlib.compress(b"".join(parts), LEVEL)


def unpack(blob: bytes, columns: int, rows: int) -> Words:
    """The words again. Raises ValueError where these bytes are not that many words."""
    if columns == 0 or rows == 0:
        return np.empty((columns, rows), _WORD)
    plain = _plain(blob, columns, rows)
    even = np.frombuffer(plain, np.uint8, columns).astype(bool)
    first = np.frombuffer(plain, _WORD, columns, columns)
    step = np.frombuffer(plain, _WORD, columns, 9 * columns)
    moving = columns - int(even.sum())
    if len(plain) != 17 * columns + 8 * moving * (rows - 1):
        raise ValueError("these bytes are cut off")
    words = np.empty((columns, rows), _WORD)
    words[even] = first[even, None] + step[even, None] * np.arange(rows, dtype=_WORD)
    if moving:
        planes = np.frombuffer(plain, np.uint8, offset=17 * columns).reshape(8, -1)
        steps = np.empty((moving, rows), _WORD)
        steps[:, 0] = first[~even]
        steps[:, 1:] = np.ascontiguousarray(planes.T).view(_WORD).reshape(moving, rows - 1)
        words[~even] = np.cumsum(steps, axis=1, dtype=_WORD)
    return words


def _plain(blob: bytes, columns: int, rows: int) -> bytes:
    """Decompressed, never to more than so many words can be."""
    if not 0 < rows <= MOST_ROWS:
        raise ValueError(f"{rows} rows in one chunk")
    most = columns * (17 + 8 * (rows - 1))
    try:
        plain = zlib.decompressobj().decompress(blob, most + 1)
    except zlib.error as error:
        raise ValueError(str(error)) from None
    if not 17 * columns <= len(plain) <= most:
        raise ValueError("these bytes are cut off")
    return plain


def row_of(tick: Tick, raw_columns: int) -> bytes:
    """One tick as a row of words. Raises ValueError or struct.error for what no row holds."""
    if len(tick.raw) not in (0, raw_columns):
        raise ValueError(f"{len(tick.raw)} values came over the wire, not {raw_columns}")
    floats, wholes = flat(tick.state)
    pump, valve, fans, damper_open, dump_open, horn, may_light = tick.commands
    raw = tick.raw or (0.0,) * raw_columns
    return _ROW.pack(
        *tick.readings, valve, fans, tick.late_s, tick.wall_s, *floats, tick.number,
        asked(tick.requests), len(tick.raw), pump, damper_open, dump_open, horn, may_light,
        digest(tick.state, tick.commands), *wholes,
    ) + struct.pack(f"<{raw_columns}d", *raw)  # fmt: skip


def tick_of(row: bytes) -> Tick:
    """The tick of a row of words. Raises ValueError or struct.error where it is none."""
    values: Sequence[Any] = _ROW.unpack_from(row)
    size = len(Readings._fields)
    valve, fans, late_s, wall_s = values[size:_OWN_FLOATS]
    floats = values[_OWN_FLOATS:len(FLOAT_NAMES)]
    wholes = values[len(FLOAT_NAMES):]
    number, mask, came, pump, damper_open, dump_open, horn, may_light, _ = wholes[:_OWN_WHOLES]
    if not 0 <= came <= (len(row) - _ROW.size) // 8:
        raise ValueError(f"{came} values can't have come over the wire")
    commands = Commands(
        bool(pump), valve, fans, bool(damper_open), bool(dump_open), horn, bool(may_light)
    )
    state = unflat(floats, wholes[_OWN_WHOLES:])
    raw = struct.unpack_from(f"<{came}d", row, _ROW.size)
    readings = Readings._make(values[:size])
    return Tick(number, wall_s, late_s, raw, readings, requests_of(mask), commands, state)


_STATE: Final = struct.Struct(
    f"<{len(FLOAT_NAMES) - _OWN_FLOATS}d{len(WHOLE_NAMES) - _OWN_WHOLES}q"
)


def state_bytes(state: State) -> bytes:
    """A state alone, as it stands before a session's first tick."""
    floats, wholes = flat(state)
    return _STATE.pack(*floats, *wholes)


def state_from(blob: bytes) -> State:
    """The state again. Raises struct.error or ValueError where it is none."""
    values = _STATE.unpack(blob)
    cut = len(FLOAT_NAMES) - _OWN_FLOATS
    return unflat(values[:cut], values[cut:])


def rows_as_words(rows: Sequence[bytes], columns: int) -> Words:
    """Rows of ticks as a table with a row for each column.

    Raises ValueError where a row has another length.
    """
    if any(len(row) != 8 * columns for row in rows):
        raise ValueError("a tick has another number of words than its session says")
    return np.frombuffer(b"".join(rows), _WORD).reshape(len(rows), columns).T
