"""The writer: a thread of its own, which control never waits for.

What can't be written is dropped and counted, said once, and writing goes on when it can.
"""

from __future__ import annotations

import queue
import sqlite3
import struct
import sys
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from coilward.controller.state import State
from coilward.hil.journal import chunks
from coilward.hil.journal.layout import layout_of, ours
from coilward.hil.journal.opening import opened, refuse_unless_journal
from coilward.hil.journal.packing import row_of
from coilward.hil.journal.schema import AFTER_S, BEFORE_S, Session, per
from coilward.hil.journal.thinning import thin_open
from coilward.hil.journal.trips import trips
from coilward.hil.tick import Tick

Line = Sequence[Any]
"""Time in seconds, whether it was sent, and the bytes: one line of the wire."""

ROOM: Final = 4096
"""Ticks that may wait: a quarter of an hour at four a second."""
MOST_LINES: Final = 50_000
"""Lines remembered from before a trip."""
SYNC_S: Final = 5.0
"""A tick at least this often is on the disk itself, beside every one that changes something."""
THIN_EVERY: Final = 60
"""Minutes written between two thinnings."""
BATCH: Final = 512
Item = tuple[str, Any, Any]


class Writer:
    """Takes ticks, notes and starts; a thread puts them into the file."""

    def __init__(
        self, path: str | Path, session: Session, *, say: Callable[[str], None] | None = None,
        wait: bool = False,
    ) -> None:  # fmt: skip
        """Begin a session in a new or an old journal.

        ``say`` is told once when writing fails and once when it works again, from the writer's
        thread; standard error by default. With ``wait`` a put waits for room: for rehearsals,
        never for control. Raises InputRefused where the file is something else than a journal.
        """
        refuse_unless_journal(path)
        self.path = Path(path)
        self._say = say or _to_stderr
        self._wait = wait
        self._queue: queue.Queue[Item] = queue.Queue(ROOM)
        self._refused = 0
        self._lost = 0
        self._closing = threading.Event()
        self._keeper = _Keeper(self.path, not wait)
        self.trouble: str | None = None
        """Why nothing can be written now; None while all is well."""
        self._put(("session", session, None))
        self._thread = threading.Thread(target=self._run, name="journal", daemon=True)
        self._thread.start()

    @property
    def dropped(self) -> int:
        """Ticks that are not in the journal."""
        return self._refused + self._lost

    def put(self, tick: Tick, lines: Sequence[Line] = ()) -> None:
        """One tick, with the lines that went over the wire since the one before.

        Never raises, and never waits unless told to.
        """
        if not self._put(("tick", tick, lines)):
            self._refused += 1

    def begin(self, session: Session) -> None:
        """The board started anew: what follows belongs to another session."""
        self._put(("session", session, None))

    def note(self, text: str, wall_s: float) -> None:
        """A line of a person: wood, wind, an opened lid."""
        self._put(("note", text, wall_s))

    def close(self, timeout_s: float | None = 30.0) -> None:
        """Write what waits and end the thread; what can't be written in that time is lost.

        None waits as long as it takes.
        """
        self._closing.set()
        self._thread.join(timeout_s)

    def _put(self, item: Item) -> bool:
        try:
            self._queue.put(item, block=self._wait)
        except queue.Full:
            return False
        return True

    def _run(self) -> None:
        while True:
            items = self._taken()
            if items:
                self._write(items)
            elif self._closing.is_set():
                break
        self._keeper.close()

    def _taken(self) -> list[Item]:
        items: list[Item] = []
        with suppress(queue.Empty):
            items.append(self._queue.get(timeout=0.1))
            while len(items) < BATCH:
                items.append(self._queue.get_nowait())
        return items

    def _write(self, items: list[Item]) -> None:
        try:
            self._lost += self._keeper.write(items, self.dropped)
        except Exception as error:
            # Whatever it is, control must go on.
            self._lost += sum(kind == "tick" for kind, _, _ in items)
            if self.trouble is None:
                self.trouble = str(error)
                self._tell(f"the journal {self.path.name} can't be written: {error}")
            self._keeper.give_up(items)
        else:
            if self.trouble is not None:
                self.trouble = None
                self._tell(f"the journal is written again; {self.dropped} ticks are not in it")

    def _tell(self, words: str) -> None:
        with suppress(Exception):
            self._say(words)


class _Keeper:
    """The file's side of a writer; lives in the writer's thread."""

    def __init__(self, path: Path, syncs: bool) -> None:
        self._path, self._syncs = path, syncs
        self._db: sqlite3.Connection | None = None
        self._session: Session | None = None
        self._id: int | None = None
        self._sure: int | None = None
        """The session as it stands in the file: `_id` may be of what was never committed."""
        self._was: State | None = None
        self._synced_s = 0.0
        self._single = 0
        self._minutes = 0
        self._lines: list[tuple[int, float, bool, bytes]] = []
        self._lines_until = -1
        self._told = 0

    def write(self, items: list[Item], dropped: int) -> int:
        """All of these in one transaction; how many ticks no row could hold. Raises as SQLite."""
        db = self._opened()
        full = self._syncs and self._to_sync(items)
        db.execute(f"PRAGMA synchronous = {'FULL' if full else 'NORMAL'}")
        db.execute("BEGIN IMMEDIATE")
        unfit = 0
        for kind, what, more in items:
            if kind == "session":
                self._start(db, what)
            elif kind == "note":
                self._note(db, str(what), float(more))
            else:
                unfit += not self._tick(db, what, more)
        if dropped > self._told:
            wall_s = next((what.wall_s for kind, what, _ in items if kind == "tick"), 0.0)
            self._note(db, f"{dropped - self._told} ticks could not be written", wall_s)
        self._put_together(db)
        db.execute("COMMIT")
        self._sure = self._id
        self._told = max(self._told, dropped)
        if full:
            self._synced_s = time.monotonic()
        if self._minutes >= THIN_EVERY:
            self._minutes = 0
            thin_open(db)
        return unfit

    def _opened(self) -> sqlite3.Connection:
        if self._db is None:
            self._db = opened(self._path)
            self._leftover(self._db)
        return self._db

    def _leftover(self, db: sqlite3.Connection) -> None:
        """What a writer that was killed left in single ticks."""
        db.execute("BEGIN IMMEDIATE")
        for number, tick_s in db.execute(
            "SELECT id, tick_s FROM session WHERE id IN (SELECT DISTINCT session FROM fresh)"
        ).fetchall():
            if number != self._id:
                chunks.merge(db, number, tick_s, layout_of(db, number), all_of_it=True)
        db.execute("COMMIT")

    def _start(self, db: sqlite3.Connection, session: Session) -> None:
        self._put_together(db, all_of_it=True)
        self._session, self._was, self._single = session, session.before, 0
        self._lines, self._lines_until = [], -1
        self._id = chunks.add_session(db, session)

    def _put_together(self, db: sqlite3.Connection, *, all_of_it: bool = False) -> None:
        """Single ticks become a chunk once they make a minute, or at the end."""
        session = self._session
        if session is None or self._id is None:
            return
        if all_of_it or self._single >= per(session.tick_s, chunks.CHUNK_S):
            self._single = chunks.merge(
                db, self._id, session.tick_s, ours(session.raw), all_of_it=all_of_it
            )
            self._minutes += 1

    def _note(self, db: sqlite3.Connection, text: str, wall_s: float) -> None:
        db.execute(
            "INSERT INTO note (session, wall_s, text) VALUES (?,?,?)", (self._id, wall_s, text)
        )

    def _tick(self, db: sqlite3.Connection, tick: Tick, lines: Sequence[Line]) -> bool:
        session = self._session
        if session is None:
            return False
        if self._id is None:
            self._id = chunks.add_session(db, session)
        try:
            row = row_of(tick, len(session.raw))
        except (ValueError, TypeError, AttributeError, OverflowError, struct.error):
            return False
        kept = db.execute(
            "INSERT OR IGNORE INTO fresh VALUES (?,?,?)", (self._id, tick.number, row)
        ).rowcount
        self._single += kept
        rows, worse = trips(self._was, tick.state)
        self._was = tick.state
        if rows or worse:
            db.execute(
                "INSERT OR IGNORE INTO trip VALUES (?,?,?,?)",
                (self._id, tick.number, rows, tick.state.mode.phase),
            )
            self._lines_until = tick.number + per(session.tick_s, AFTER_S)
        try:
            self._wire(db, tick.number, lines, session.tick_s)
        except (ValueError, TypeError):
            # A line that is none leaves the ticks as they are.
            self._lines = []
        return kept == 1

    def _wire(
        self, db: sqlite3.Connection, number: int, lines: Sequence[Line], tick_s: float
    ) -> None:
        """Lines go into the file around a trip, and are remembered for the next one otherwise."""
        for at_s, sent, text, *_ in lines:
            self._lines.append((number, float(at_s), bool(sent), bytes(text)))
        if number <= self._lines_until:
            db.executemany(
                "INSERT INTO frame (session, number, at_s, sent, text) VALUES (?,?,?,?,?)",
                [(self._id, *each) for each in self._lines],
            )
            self._lines = []
        elif self._lines and (
            len(self._lines) > 2 * MOST_LINES or number % per(tick_s, BEFORE_S) == 0
        ):
            oldest = number - per(tick_s, BEFORE_S)
            self._lines = [each for each in self._lines if each[0] >= oldest][-MOST_LINES:]

    def _to_sync(self, items: list[Item]) -> bool:
        """Whether this must be on the disk itself before the next: something changed, or it is
        time."""
        if time.monotonic() - self._synced_s >= SYNC_S:
            return True
        was = self._was
        for kind, what, _ in items:
            if kind != "tick":
                return True
            now = what.state
            if was is None or now.mode != was.mode or now.raised != was.raised:
                return True
            was = now
        return False

    def give_up(self, items: list[Item]) -> None:
        """After a failure: back to what the file holds, and open it anew."""
        for kind, what, _ in items:
            if kind == "session":
                self._session, self._sure, self._was = what, None, what.before
        self._id = self._sure
        if self._db is not None:
            with suppress(sqlite3.Error):
                self._db.rollback()
            with suppress(sqlite3.Error):
                self._db.close()
            self._db = None

    def close(self) -> None:
        """Puts the last minute together; the file then stands alone, without its log."""
        with suppress(sqlite3.Error, OSError, ValueError):
            db = self._opened()
            db.execute("BEGIN IMMEDIATE")
            self._put_together(db, all_of_it=True)
            db.execute("COMMIT")
        if self._db is not None:
            with suppress(sqlite3.Error):
                self._db.close()


def _to_stderr(words: str) -> None:
    sys.stderr.write(f"warning: {words}\n")
