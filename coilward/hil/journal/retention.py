"""For how long what is kept: all of the last weeks, all around trips, of the rest one row in many.

Age is time that was recorded since, not time of a clock: a clock that jumps ahead by years, or a
loop that stands still for a summer, makes nothing old.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from functools import partial
from itertools import groupby
from typing import Final, NamedTuple

import numpy as np

from coilward.hil.journal.packing import fingerprint, grown, shrunk
from coilward.hil.journal.session import Session
from coilward.hil.journal.store import changing, sessions_in
from coilward.hil.journal.trips import AFTER_S, BEFORE_S

DAY_S: Final = 86400.0
FULL_S: Final = 14.0 * DAY_S
THINNED_S: Final = 400.0 * DAY_S
EVERY_S: Final = 10.0
"""Between two rows of what was thinned."""
TOGETHER: Final = 60
"""Chunks that become one thinned chunk."""
MOST_EVENTS: Final = 100_000


class _Chunk(NamedTuple):
    id: int
    session: int
    first: int
    last: int
    ticks: int
    end_s: float
    inputs: bytes
    facts: bytes


def thin(
    connection: sqlite3.Connection, full_s: float = FULL_S, thinned_s: float = THINNED_S
) -> None:
    """Thin what is older than ``full_s`` of recording, and drop it after ``thinned_s``.

    What lies around a trip stays whole. Raises sqlite3.Error where the disk refuses; nothing is
    lost then.
    """
    newest_s = newest(connection)
    sessions = {session.number: session for session in sessions_in(connection)}
    for group in list(_old(connection, newest_s - full_s)):
        session = sessions[group[0].session]
        touches = partial(_touches, _around_trips(connection, session))
        for kept, chunks in groupby(group, touches):
            with changing(connection):
                if kept:
                    ids = [(each.id,) for each in chunks]
                    connection.executemany("UPDATE chunk SET kept = 1 WHERE id = ?", ids)
                else:
                    _replace(connection, session, list(chunks))
    with changing(connection):
        connection.execute(
            "DELETE FROM chunk WHERE kept = 0 AND every > 1 AND end_s < ?",
            (newest_s - thinned_s,),
        )
        connection.execute(
            "DELETE FROM event WHERE id <= (SELECT max(id) FROM event) - ?", (MOST_EVENTS,)
        )


def newest(connection: sqlite3.Connection) -> float:
    """Seconds of recording that the file's chunks have seen in all."""
    (end_s,) = connection.execute(
        "SELECT max(end_s) FROM chunk WHERE kept = 0 AND every = 1"
    ).fetchone()
    return float(end_s or 0.0)


def _old(connection: sqlite3.Connection, before_s: float) -> Iterator[list[_Chunk]]:
    """Whole chunks of one session that are old, as many at a time as become one."""
    rows = connection.execute(
        "SELECT id, session, first, last, ticks, end_s, inputs, facts FROM chunk"
        " WHERE kept = 0 AND every = 1 AND end_s <= ? ORDER BY session, first",
        (before_s,),
    )
    for _, chunks in groupby(map(_Chunk._make, rows), lambda chunk: chunk.session):
        group: list[_Chunk] = []
        for chunk in chunks:
            group.append(chunk)
            if len(group) == TOGETHER:
                yield group
                group = []
        if group:
            yield group


def _around_trips(connection: sqlite3.Connection, session: Session) -> list[tuple[int, int]]:
    """First and last number of every stretch that stays whole."""
    before, after = round(BEFORE_S / session.tick_s), round(AFTER_S / session.tick_s)
    rows = connection.execute("SELECT number FROM trip WHERE session = ?", (session.number,))
    return [(number - before, number + after) for (number,) in rows]


def _touches(around: list[tuple[int, int]], chunk: _Chunk) -> bool:
    return any(chunk.first <= end and chunk.last >= start for start, end in around)


def _replace(connection: sqlite3.Connection, session: Session, chunks: list[_Chunk]) -> None:
    """One chunk with a row every ten seconds in the place of some whole ones."""
    every = max(2, round(EVERY_S / session.tick_s))
    rows, fact_rows = len(session.layout.inputs), len(session.layout.facts)
    inputs = np.hstack([grown(each.inputs, rows, each.ticks) for each in chunks])
    facts = np.hstack([grown(each.facts, fact_rows, each.ticks) for each in chunks])
    chosen = inputs[0] % np.uint64(every) == 0
    inputs, facts = inputs[:, chosen].copy(), facts[:, chosen].copy()
    connection.executemany("DELETE FROM chunk WHERE id = ?", [(each.id,) for each in chunks])
    if inputs.shape[1] > 0:
        connection.execute(
            "INSERT INTO chunk (session, first, last, ticks, every, end_s, inputs, facts, hash)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                session.number, int(inputs[0, 0]), int(inputs[0, -1]), inputs.shape[1], every,
                chunks[-1].end_s, shrunk(inputs), shrunk(facts), fingerprint(inputs, facts),
            ),
        )  # fmt: skip

