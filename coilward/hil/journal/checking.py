"""Whether a journal is whole: the file, every chunk, every digest, and which ticks are missing."""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np

from coilward.hil.journal.chunks import crc_of, unpacked
from coilward.hil.journal.layout import Layout, layout_of
from coilward.hil.journal.opening import opened_to_read
from coilward.hil.journal.packing import Words, rows_as_words
from coilward.hil.tick import FLOATS, WHOLES

MOST_TOLD: Final = 20
DIGESTED: Final = (
    *FLOATS, "commands_valve", "commands_fans", *WHOLES, "commands_pump", "commands_damper_open",
    "commands_dump_open", "commands_horn", "commands_may_light",
)  # fmt: skip
"""What `coilward.hil.tick.digest` is over, in its order."""


@dataclass
class Checked:
    """What was looked at, and what was found."""

    sessions: int = 0
    chunks: int = 0
    ticks: int = 0
    thinned: int = 0
    """Of the chunks."""
    size_bytes: int = 0
    gaps: list[str] = field(default_factory=list)
    """Ticks that were never written: told, but no damage."""
    findings: list[str] = field(default_factory=list)
    """Damage, in words."""


def check(path: str | Path) -> Checked:
    """Looks at every byte of a journal, also while it is written.

    Raises InputRefused where it is none.
    """
    db = opened_to_read(path)
    done = Checked(size_bytes=Path(path).stat().st_size)
    try:
        # One moment for everything: a minute that is put together meanwhile is in one place only.
        db.execute("BEGIN")
        found = [row[0] for row in db.execute("PRAGMA integrity_check(20)")]
        done.findings += [f"the file: {words}" for words in found if words != "ok"]
        for session, tick_s in db.execute("SELECT id, tick_s FROM session ORDER BY id").fetchall():
            done.sessions += 1
            _check_session(db, session, float(tick_s), done)
        strays = "SELECT count(*) FROM chunk WHERE session NOT IN (SELECT id FROM session)"
        if count := db.execute(strays).fetchone()[0]:
            done.findings.append(f"{count} chunks belong to no session")
    except (sqlite3.Error, TypeError) as error:
        done.findings.append(f"the file can't be read to its end: {error}")
    finally:
        db.close()
    if len(done.findings) > MOST_TOLD:
        more = len(done.findings) - MOST_TOLD
        done.findings[MOST_TOLD:] = [f"and {more} more"]
    return done


def _check_session(db: sqlite3.Connection, session: int, tick_s: float, done: Checked) -> None:
    try:
        layout = layout_of(db, session)
    except (ValueError, TypeError) as error:
        done.findings.append(str(error))
        return
    expected = 0
    for name, words, every in _parts(db, session, layout, done):
        numbers = words[layout.place["number"]].view(np.int64)
        steps = np.diff(numbers)
        if (steps <= 0).any():
            done.findings.append(f"{name}: its ticks are out of order")
        last = int(numbers[-1])
        if every == 1:
            there = [expected - 1, *numbers.tolist()]
            done.gaps += [
                _gap(session, before + 1, after - 1, tick_s)
                for before, after in pairwise(there) if after > before + 1
            ]
            expected = last + 1
        else:
            # What was thinned need not end with a tick that was kept.
            expected = _after_thinned(db, session, last)
        done.ticks += len(numbers)
        if layout.is_ours and (bad := wrong_digests(words, layout)):
            more = f", nor do those of {len(bad) - 1} more" if bad[1:] else ""
            done.findings.append(f"{name}: the digest of tick {bad[0]} does not fit{more}")


def _after_thinned(db: sqlite3.Connection, session: int, last: int) -> int:
    row = db.execute(
        "SELECT min(first) FROM chunk WHERE session = ? AND first > ?", (session, last)
    ).fetchone()
    return last + 1 if row[0] is None else int(row[0])


def _parts(
    db: sqlite3.Connection, session: int, layout: Layout, done: Checked
) -> Iterator[tuple[str, Words, int]]:
    """Name, words and thinning of every chunk, then of the single ticks."""
    query = (
        "SELECT id, first, last, count, every, crc, inputs, outcome, memory, raw FROM chunk "
        "WHERE session = ? ORDER BY first"
    )
    for number, first, last, count, every, crc, *blobs in db.execute(query, (session,)):
        name = f"session {session}, ticks {first} to {last}"
        done.chunks += 1
        done.thinned += every != 1
        if crc_of(blobs) != crc:
            done.findings.append(f"{name}: chunk {number} is damaged (its checksum does not fit)")
            continue
        try:
            words = unpacked(blobs, count, layout)
        except ValueError as error:
            done.findings.append(f"{name}: chunk {number} is damaged ({error})")
            continue
        numbers = words[layout.place["number"]].view(np.int64)
        if (numbers[0], numbers[-1]) != (first, last):
            done.findings.append(f"{name}: chunk {number} holds other ticks than it says")
        yield name, words, every
    rows = [row[0] for row in db.execute(
        "SELECT words FROM fresh WHERE session = ? ORDER BY number", (session,)
    )]  # fmt: skip
    if rows:
        try:
            yield f"session {session}, its newest ticks", rows_as_words(rows, len(layout.names)), 1
        except ValueError as error:
            done.findings.append(f"session {session}: {error}")


def wrong_digests(words: Words, layout: Layout) -> list[int]:
    """Numbers of the ticks whose digest does not fit their state and commands."""
    places = [layout.place[name] for name in DIGESTED]
    rows = np.ascontiguousarray(words[places].T)
    kept = words[layout.place["digest"]].view(np.int64)
    numbers = words[layout.place["number"]].view(np.int64)
    return [
        int(numbers[at]) for at, row in enumerate(rows) if zlib.crc32(row.tobytes()) != kept[at]
    ]


def _gap(session: int, since: int, until: int, tick_s: float) -> str:
    count = until - since + 1
    ticks = f"tick {since} is" if count == 1 else f"ticks {since} to {until} are"
    return f"session {session}: {ticks} missing ({count * tick_s:g} s)"
