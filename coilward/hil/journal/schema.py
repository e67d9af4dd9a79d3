"""What stands in a journal: its tables, and the order of the numbers of a tick.

A journal is one SQLite file. The newest ticks stand one a row, committed one by one; whole
minutes are put together column by column. A tick is a row of 64-bit words: its floats, then its
whole numbers, then what came over the wire.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from coilward.controller.state import State
from coilward.controller.types import Commands, Readings
from coilward.hil.tick import FIELDS, FLOATS, WHOLES

APPLICATION: Final = 0x436F696C
"""SQLite's application id: the letters Coil."""
VERSION: Final = 1

Kind = Literal["run", "rehearsal", "bench"]

FLOAT_NAMES: Final = (
    *Readings._fields, "commands_valve", "commands_fans", "late_s", "wall_s", *FLOATS,
)  # fmt: skip
"""The floats of a tick."""
WHOLE_NAMES: Final = (
    "number", "requests", "raw_came", "commands_pump", "commands_damper_open",
    "commands_dump_open", "commands_horn", "commands_may_light", "digest", *WHOLES,
)  # fmt: skip
"""The whole numbers of a tick; `raw_came` counts the values that came over the wire."""
NAMES: Final = (*FLOAT_NAMES, *WHOLE_NAMES)

INPUTS: Final = ("number", "requests", "raw_came", *Readings._fields)
OUTCOME: Final = (
    *(f"commands_{name}" for name in Commands._fields), "mode_phase", "mode_fire", "mode_coil",
    "mode_latched", "mode_first_out", "raised", "digest", "late_s", "wall_s",
)  # fmt: skip
MEMORY: Final = tuple(name for name, _ in FIELDS if name not in OUTCOME)

TABLES: Final = """
CREATE TABLE session (
    id INTEGER PRIMARY KEY, kind TEXT NOT NULL, wall_s REAL NOT NULL, tick_s REAL NOT NULL,
    seed INTEGER, loop_name TEXT NOT NULL, loop_text TEXT NOT NULL, loop_id TEXT NOT NULL,
    day TEXT NOT NULL, constants INTEGER NOT NULL, code TEXT NOT NULL, floats TEXT NOT NULL,
    wholes TEXT NOT NULL, inputs TEXT NOT NULL, outcome TEXT NOT NULL, memory TEXT NOT NULL,
    raw TEXT NOT NULL, before BLOB
);
CREATE TABLE fresh (
    session INTEGER NOT NULL, number INTEGER NOT NULL, words BLOB NOT NULL,
    PRIMARY KEY (session, number)
) WITHOUT ROWID;
CREATE TABLE chunk (
    id INTEGER PRIMARY KEY, session INTEGER NOT NULL, first INTEGER NOT NULL,
    last INTEGER NOT NULL, count INTEGER NOT NULL, every INTEGER NOT NULL, lasts_s REAL NOT NULL,
    time_s REAL, wall_s REAL, crc INTEGER NOT NULL, inputs BLOB NOT NULL, outcome BLOB NOT NULL,
    memory BLOB NOT NULL, raw BLOB NOT NULL
);
CREATE UNIQUE INDEX chunk_place ON chunk (session, first);
CREATE TABLE trip (
    session INTEGER NOT NULL, number INTEGER NOT NULL, rows INTEGER NOT NULL,
    phase INTEGER NOT NULL, PRIMARY KEY (session, number)
) WITHOUT ROWID;
CREATE TABLE frame (
    id INTEGER PRIMARY KEY, session INTEGER NOT NULL, number INTEGER NOT NULL,
    at_s REAL, sent INTEGER NOT NULL, text BLOB NOT NULL
);
CREATE INDEX frame_place ON frame (session, number);
CREATE TABLE note (
    id INTEGER PRIMARY KEY, session INTEGER, wall_s REAL NOT NULL, text TEXT NOT NULL
);
"""
BLOBS: Final = ("inputs", "outcome", "memory", "raw")
BEFORE_S, AFTER_S = 120.0, 600.0
"""What is kept around a trip: in full for ever, and the lines of the wire."""


@dataclass(frozen=True)
class Session:
    """What stays the same from one start of a board to the next."""

    kind: Kind
    tick_s: float
    loop_name: str
    loop_text: str
    loop_id: str
    day: str
    """ISO date on which the proofs of passive hardware were counted: limits hang on it."""
    constants: int
    """Checksum of the constants."""
    code: str
    """Hash over the sources of the controller."""
    wall_s: float
    """Seconds since 1970 at the start."""
    seed: int | None = None
    raw: tuple[str, ...] = ()
    """Names of the values that come over the wire."""
    before: State | None = None
    """What the board remembered before the first tick; a replay starts from it."""


def per(tick_s: float, seconds: float) -> int:
    """How many ticks last that long, at least one."""
    return max(1, round(seconds / tick_s))
