"""Ticks into the file: each in a row of its own at first, then a minute of them in a chunk.

What is taken waits in memory until it is in the file. A disk that refuses loses nothing of it,
until more waits than may.
"""

from __future__ import annotations

import sqlite3
from collections import deque
from collections.abc import Sequence
from pathlib import Path
from typing import Final, NamedTuple

from coilward.controller.state import State
from coilward.hil.journal.layout import block, checksum, packed, state_words
from coilward.hil.journal.packing import fingerprint, shrunk
from coilward.hil.journal.retention import newest, thin
from coilward.hil.journal.session import Session
from coilward.hil.journal.store import changing, open_to_write, put_session, sessions_in
from coilward.hil.journal.trips import AFTER_S, BEFORE_S, is_trip, trip_rows
from coilward.hil.tick import Tick

CHUNK_S: Final = 60.0
WAITING_S: Final = 600.0
"""How much may wait in memory for a disk that refuses."""
TO_DISK_S: Final = 10.0
"""How often what was written is also forced to the disk, against a power cut."""
THIN_EVERY: Final = 60
"""Chunks between two looks for what is old enough to be thinned."""
Frames = Sequence[bytes | str]
"""Lines of a wire that came with a tick."""


class _Taken(NamedTuple):
    """One tick with all that belongs to it, until it is in the file."""

    number: int
    wall_s: float
    state: State
    words: bytes
    origin: State | None
    trip: tuple[int, int] | None
    """Phase and rows."""
    frames: tuple[tuple[int, int, bytes], ...]


class Keeper:
    """One session's way into the file. Nothing here is safe to call from two threads."""

    def __init__(self, path: str | Path, session: Session, first: State) -> None:
        """Begin a session, from a state; a minute that a killed run left behind is put away.

        Raises InputRefused where the file is no journal, sqlite3.Error where the disk refuses.
        """
        self.connection = open_to_write(path)
        self.session = session
        self.dropped = 0
        self._before = first
        self._origin: State | None = first
        self._chunk = max(1, round(CHUNK_S / session.tick_s))
        self._most = max(self._chunk, round(WAITING_S / session.tick_s))
        self._waiting: deque[_Taken] = deque()
        self._ring: deque[tuple[int, int, bytes]] = deque()
        self._frames_until = -1
        self._unsaved = 0
        self._recent = 0
        self._chunks = 0
        self._written = -1
        try:
            self._put_away()
            with changing(self.connection, to_disk=True):
                number = put_session(self.connection, session)
        except BaseException:
            self.connection.close()
            raise
        self.session = session._replace(number=number)

    def take(self, tick: Tick, frames: Frames = (), begun_from: State | None = None) -> None:
        """Have a tick wait for the file.

        ``begun_from`` is the state that it was decided from, where that is not the state of the
        tick before: after a restart of the board.
        """
        before = self._before if begun_from is None else begun_from
        words = packed(tick, self.session.layout)
        trip = None
        if is_trip(before, tick.state):
            trip = (tick.state.mode.phase, trip_rows(before.raised, tick.state.raised))
            self._frames_until = tick.number + round(AFTER_S / self.session.tick_s)
        lines = self._to_keep(tick.number, frames)
        origin, self._origin = begun_from or self._origin, None
        self._waiting.append(
            _Taken(tick.number, tick.wall_s, tick.state, words, origin, trip, lines)
        )
        self._before = tick.state
        while len(self._waiting) > self._most:
            self._drop()

    def _drop(self) -> None:
        """The oldest is lost; the one after it tells what it began from."""
        lost = self._waiting.popleft()
        self.dropped += 1
        after = self._waiting[0]
        if after.origin is None:
            self._waiting[0] = after._replace(origin=lost.state)

    def _to_keep(self, number: int, frames: Frames) -> tuple[tuple[int, int, bytes], ...]:
        """Wire lines that go into the file now: none, the last minutes' or the tick's."""
        ring = self._ring
        ring.extend((number, place, _bytes(line)) for place, line in enumerate(frames))
        oldest = number - round(BEFORE_S / self.session.tick_s)
        while ring and ring[0][0] < oldest:
            ring.popleft()
        if number > self._frames_until:
            return ()
        kept = tuple(ring)
        ring.clear()
        return kept

    def write(self, *, to_disk: bool = False) -> None:
        """Put all that waits into the file. Raises sqlite3.Error, and everything still waits."""
        rows = list(self._waiting)
        if not rows:
            return
        self._unsaved += len(rows)
        due = to_disk or self._unsaved * self.session.tick_s >= TO_DISK_S
        with changing(self.connection, to_disk=due):
            self._insert(rows)
        if due:
            self._unsaved = 0
        for _ in rows:
            self._waiting.popleft()
        self._recent += len(rows)
        self._written = rows[-1].number

    def _insert(self, rows: list[_Taken]) -> None:
        number, put = self.session.number, self.connection.executemany
        put("INSERT INTO recent VALUES (?, ?, ?, ?)",
            [(number, row.number, row.words, checksum(row.words)) for row in rows])  # fmt: skip
        self._insert_beside(rows)

    def _insert_beside(self, rows: list[_Taken]) -> None:
        number, put = self.session.number, self.connection.executemany
        put("INSERT INTO origin VALUES (?, ?, ?)",
            [(number, row.number, state_words(row.origin)) for row in rows if row.origin])
        put("INSERT INTO trip VALUES (?, ?, ?, ?, ?)",
            [(number, row.number, row.wall_s, *row.trip) for row in rows if row.trip])
        put("INSERT INTO frame VALUES (?, ?, ?, ?)",
            [(number, *line) for row in rows for line in row.frames])  # fmt: skip

    def tidy(self) -> None:
        """Put full minutes away, and thin what is old. Raises sqlite3.Error; nothing is lost."""
        while self._recent >= 2 * self._chunk:
            with changing(self.connection):
                moved = put_away(self.connection, self.session, self._chunk)
            self._recent -= moved or self._recent
            self._one_more_chunk()

    def _one_more_chunk(self) -> None:
        self._chunks += 1
        if self._chunks % THIN_EVERY == 0:
            thin(self.connection)

    def write_chunk(self) -> None:
        """Put all that waits into one chunk at once, for ticks that come faster than time."""
        rows = list(self._waiting)
        if not rows:
            return
        with changing(self.connection):
            self._insert_beside(rows)
            put_chunk(self.connection, self.session, [row.words for row in rows])
        self._waiting.clear()
        self._written = rows[-1].number
        self._one_more_chunk()

    def tell(self, wall_s: float, words: str) -> None:
        """An event beside the ticks. Raises sqlite3.Error."""
        with changing(self.connection):
            self.connection.execute(
                "INSERT INTO event (wall_s, session, number, words) VALUES (?, ?, ?, ?)",
                (wall_s, self.session.number, self._written + 1, words),
            )

    def _put_away(self) -> None:
        """Rows of sessions that have ended, however they ended."""
        for session in sessions_in(self.connection):
            size = max(1, round(CHUNK_S / session.tick_s))
            while True:
                with changing(self.connection):
                    if not put_away(self.connection, session, size):
                        break

    def close(self) -> None:
        """The file as one: nothing waits, and the log beside it is gone where nobody reads."""
        try:
            self.write(to_disk=True)
        finally:
            self.connection.close()


def _bytes(line: bytes | str) -> bytes:
    return line.encode("utf-8", "surrogateescape") if isinstance(line, str) else bytes(line)


def put_away(connection: sqlite3.Connection, session: Session, most: int) -> int:
    """The oldest rows of a session become a chunk, within a transaction; how many they were.

    Rows whose checksum is wrong are left out: a later look tells of the gap.
    """
    rows = connection.execute(
        "SELECT number, words, crc FROM recent WHERE session = ? ORDER BY number LIMIT ?",
        (session.number, most),
    ).fetchall()
    good = [words for _, words, crc in rows if checksum(words) == crc]
    if good:
        put_chunk(connection, session, good)
    if rows:
        connection.execute(
            "DELETE FROM recent WHERE session = ? AND number <= ?", (session.number, rows[-1][0])
        )
    return len(rows)


def put_chunk(connection: sqlite3.Connection, session: Session, rows: list[bytes]) -> None:
    """Some ticks in a row as one chunk, within a transaction."""
    words = block(rows)
    inputs = len(session.layout.inputs)
    facts = inputs + len(session.layout.memory)
    connection.execute(
        "INSERT INTO chunk (session, first, last, ticks, every, end_s, inputs, memory, facts, hash)"
        " VALUES (?, ?, ?, ?, 1, ?, ?, ?, ?, ?)",
        (
            session.number, int(words[0, 0]), int(words[0, -1]), len(rows),
            newest(connection) + len(rows) * session.tick_s, shrunk(words[:inputs]),
            shrunk(words[inputs:facts]), shrunk(words[facts:]),
            fingerprint(words[:inputs], words[inputs:]),
        ),
    )  # fmt: skip
