"""Whole minutes put together from single ticks, and taken apart again, inside one SQLite file."""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from coilward.hil.journal.layout import Layout, ours
from coilward.hil.journal.packing import Words, pack, rows_as_words, state_bytes, unpack
from coilward.hil.journal.schema import APPLICATION, BLOBS, TABLES, VERSION, Session, per

CHUNK_S: Final = 60.0


class Head(NamedTuple):
    """What a chunk tells without being unpacked."""

    id: int
    session: int
    first: int
    last: int
    rows: int
    every: int
    """1 where every tick stands in it, else of how many one was kept."""
    lasts_s: float


HEADS: Final = "SELECT id, session, first, last, count, every, lasts_s FROM chunk"
"""The fields of a `Head`, in order."""


def make(db: sqlite3.Connection) -> None:
    """An empty journal in an empty file."""
    # A page that is given back makes the file smaller only in this mode, which is set at birth.
    db.execute("PRAGMA auto_vacuum = INCREMENTAL")
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("BEGIN IMMEDIATE")
    for statement in TABLES.split(";"):
        db.execute(statement)
    db.execute(f"PRAGMA application_id = {APPLICATION}")
    db.execute(f"PRAGMA user_version = {VERSION}")
    db.execute("COMMIT")


def add_session(db: sqlite3.Connection, session: Session) -> int:
    """A new row for a start; its number."""
    before = None if session.before is None else state_bytes(session.before)
    row = db.execute(
        "INSERT INTO session (kind, wall_s, tick_s, seed, loop_name, loop_text, loop_id, day, "
        "constants, code, floats, wholes, inputs, outcome, memory, raw, before) "
        "VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
        (
            session.kind, session.wall_s, session.tick_s, session.seed, session.loop_name,
            session.loop_text, session.loop_id, session.day, session.constants, session.code,
            *ours(session.raw).as_row(), before,
        ),
    )
    return int(row.lastrowid or 0)


def merge(
    db: sqlite3.Connection, session: int, tick_s: float, layout: Layout, *,
    all_of_it: bool = False,
) -> int:  # fmt: skip
    """Puts whole minutes of single ticks together; how many single ticks are left.

    With ``all_of_it`` the last minute need not be whole. Belongs into a transaction.
    """
    size = per(tick_s, CHUNK_S)
    while True:
        rows = db.execute(
            "SELECT number, words FROM fresh WHERE session = ? ORDER BY number LIMIT ?",
            (session, size),
        ).fetchall()
        if len(rows) < size and not (all_of_it and rows):
            return len(rows)
        words = rows_as_words([row[1] for row in rows], len(layout.names))
        add_chunk(db, session, words, layout, lasts_s=len(rows) * tick_s)
        db.execute(
            "DELETE FROM fresh WHERE session = ? AND number <= ?", (session, rows[-1][0])
        )


def add_chunk(
    db: sqlite3.Connection, session: int, words: Words, layout: Layout, *, lasts_s: float,
    every: int = 1, place: int | None = None,
) -> None:  # fmt: skip
    """Writes one chunk; ``place`` puts it where one was that has been taken away."""
    blobs = [pack(words[layout.places[group]]) for group in BLOBS]
    numbers = words[layout.place["number"]].view(np.int64)
    of_first = [
        float(words[layout.place[name], :1].view(np.float64)[0]) for name in ("time_s", "wall_s")
    ]
    db.execute(
        "INSERT INTO chunk VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
        (
            place, session, int(numbers[0]), int(numbers[-1]), len(numbers), every, lasts_s,
            *of_first, crc_of(blobs), *blobs,
        ),
    )


def crc_of(blobs: Sequence[bytes]) -> int:
    """CRC-32 over the bytes of a chunk."""
    return zlib.crc32(b"".join(blobs))


def words_of(
    db: sqlite3.Connection, head: Head, layout: Layout, groups: Sequence[str] = BLOBS
) -> Words:
    """The words of a chunk; what is in none of the groups stays zero.

    Raises ValueError where the bytes are damaged, LookupError where the chunk has gone.
    """
    row = db.execute(f"SELECT {', '.join(groups)} FROM chunk WHERE id = ?", (head.id,)).fetchone()  # noqa: S608 - names from our own list
    if row is None:
        raise LookupError(f"chunk {head.id} has gone")
    return unpacked(row, head.rows, layout, groups)


def unpacked(
    blobs: Sequence[bytes], rows: int, layout: Layout, groups: Sequence[str] = BLOBS
) -> Words:
    """The words of these blobs. Raises ValueError where the bytes are damaged."""
    make = np.empty if len(groups) == len(BLOBS) else np.zeros
    words = make((len(layout.names), rows), np.uint64)
    for group, blob in zip(groups, blobs, strict=True):
        places = layout.places[group]
        words[places] = unpack(blob, len(places), rows)
    return words
