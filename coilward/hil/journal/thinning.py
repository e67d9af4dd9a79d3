"""What is kept how long: everything for two weeks, everything around a trip, and the rest thinned.

Age is the time that was recorded since, not what a clock says: a clock that jumps throws nothing
away, and a stove that burns eight hours a day keeps six weeks in full.
"""

from __future__ import annotations

import sqlite3
from itertools import groupby
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np

from coilward.hil.journal.chunks import HEADS, Head, add_chunk, words_of
from coilward.hil.journal.layout import Layout, layout_of
from coilward.hil.journal.opening import opened, opened_to_read, refused
from coilward.hil.journal.schema import AFTER_S, BEFORE_S, per

DAY_S: Final = 86_400.0
FULL_S: Final = 14 * DAY_S
"""Recorded time for which every tick is kept."""
THIN_S: Final = 365 * DAY_S
"""Recorded time for which anything is kept that is not around a trip."""
KEPT_EVERY_S: Final = 30.0
"""What is thinned keeps one tick in this time."""
TOGETHER: Final = 60
"""Chunks that become one."""


class Thinned(NamedTuple):
    """What a thinning did."""

    thinned: int
    """Chunks that lost most of their ticks."""
    dropped: int
    """Chunks that were too old to keep at all."""
    size_bytes: int
    """Of the file afterwards."""


def thin(path: str | Path) -> Thinned:
    """Thins a whole journal. Raises InputRefused where it can't be."""
    opened_to_read(path).close()
    try:
        db = opened(Path(path))
        try:
            thinned, dropped = thin_open(db)
        finally:
            db.close()
    except sqlite3.Error as error:
        raise refused(path, f"it can't be thinned ({error})", "a journal that can be written") \
            from None
    return Thinned(thinned, dropped, Path(path).stat().st_size)


def thin_open(db: sqlite3.Connection) -> tuple[int, int]:
    """Chunks thinned and chunks dropped. Raises sqlite3.Error."""
    heads = [Head(*row) for row in db.execute(HEADS + " ORDER BY id DESC")]
    old, gone = _judged(heads, _trips(db))
    if not old and not gone:
        return 0, 0
    ticks = dict(db.execute("SELECT id, tick_s FROM session").fetchall())
    for session, found in groupby(reversed(old), key=lambda head: head.session):
        group, layout = list(found), layout_of(db, session)
        for start in range(0, len(group), TOGETHER):
            db.execute("BEGIN IMMEDIATE")
            _thin_group(db, group[start:start + TOGETHER], ticks[session], layout)
            db.execute("COMMIT")
    db.execute("BEGIN IMMEDIATE")
    db.executemany("DELETE FROM chunk WHERE id = ?", [(head.id,) for head in gone])
    db.execute("COMMIT")
    db.execute("PRAGMA incremental_vacuum").fetchall()
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    return len(old), len(gone)


def _judged(
    heads: list[Head], around: dict[int, list[tuple[int, int]]]
) -> tuple[list[Head], list[Head]]:
    """Of chunks from new to old: those to thin, and those to drop."""
    old, gone = [], []
    age_s = 0.0
    for head in heads:
        near = any(
            head.first <= until and head.last >= since
            for since, until in around.get(head.session, ())
        )
        if age_s >= THIN_S and not near:
            gone.append(head)
        elif age_s >= FULL_S and head.every == 1 and not near:
            old.append(head)
        age_s += head.lasts_s
    return old, gone


def _trips(db: sqlite3.Connection) -> dict[int, list[tuple[int, int]]]:
    """First and last tick around each trip, by session; trips that overlap are one."""
    found: dict[int, list[tuple[int, int]]] = {}
    for session, number, tick_s in db.execute(
        "SELECT t.session, t.number, s.tick_s FROM trip t JOIN session s ON s.id = t.session "
        "ORDER BY t.session, t.number"
    ):
        since, until = number - per(tick_s, BEFORE_S), number + per(tick_s, AFTER_S)
        spans = found.setdefault(session, [])
        if spans and since <= spans[-1][1]:
            spans[-1] = (spans[-1][0], until)
        else:
            spans.append((since, until))
    return found


def _thin_group(db: sqlite3.Connection, group: list[Head], tick_s: float, layout: Layout) -> None:
    """Some chunks one after the other become one, with a tick in so many."""
    every = per(tick_s, KEPT_EVERY_S)
    words = np.concatenate([words_of(db, head, layout) for head in group], axis=1)
    numbers = words[layout.place["number"]].view(np.int64)
    kept = numbers % every == 0
    kept[0] = True
    db.executemany("DELETE FROM chunk WHERE id = ?", [(head.id,) for head in group])
    add_chunk(
        db, group[0].session, words[:, kept], layout, every=every, place=group[0].id,
        lasts_s=sum(head.lasts_s for head in group),
    )
