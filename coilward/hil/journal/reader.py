"""Reading a journal, also while it is being written, and what a killed run left of it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilward.controller.state import State
from coilward.hil.journal.layout import (
    WHOLE_NUMBERS,
    Words,
    as_numbers,
    block,
    checksum,
    row_of,
    state_of_words,
    unpacked,
)
from coilward.hil.journal.packing import Damaged, grown
from coilward.hil.journal.rows import Chunk, Frame, Note, Trip
from coilward.hil.journal.session import Kind, Session
from coilward.hil.journal.store import open_to_read, refused, sessions_in
from coilward.hil.tick import Tick

Columns = dict[str, NDArray[Any]]


_CHUNK = "SELECT session, first, last, ticks, every, inputs, memory, facts, hash FROM chunk"


class Reader:
    """One journal, to read. Ranges of ticks are by their number, first and last included."""

    def __init__(self, path: str | Path) -> None:
        """Raises InputRefused where there is none, or for a file that is no journal."""
        self.path = str(path)
        self._connection = open_to_read(path)
        self._version = -1

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def __enter__(self) -> Reader:
        return self

    def __exit__(self, _: object, error: object, __: object) -> None:
        """Raises InputRefused in the place of a database error: the file is damaged."""
        self.close()
        if isinstance(error, sqlite3.DatabaseError):
            raise refused(
                self.path, f"the journal is damaged ({error})",
                "a whole journal; `coilward journal check` tells what is left of it",
            ) from None  # fmt: skip

    def changed(self) -> bool:
        """Whether anything was written since the last time this was asked; true at first."""
        (version,) = self._connection.execute("PRAGMA data_version").fetchone()
        was, self._version = self._version, version
        return bool(was != version)

    def sessions(self) -> list[Session]:
        """All sessions, the oldest first."""
        return sessions_in(self._connection)

    def span(self, session: Session) -> tuple[int, int] | None:
        """First and last number that are there; None before the first tick."""
        spans = [
            self._connection.execute(
                f"SELECT min({first}), max({last}) FROM {table} WHERE session = ?",  # noqa: S608
                (session.number,),
            ).fetchone()
            for table, first, last in (("chunk", "first", "last"), ("recent", "number", "number"))
        ]
        ends = [end for span in spans for end in span if end is not None]
        return (min(ends), max(ends)) if ends else None

    def chunks(
        self, session: Session, first: int | None = None, last: int | None = None
    ) -> Iterator[Chunk]:
        """The packed chunks that have ticks of a range, in order."""
        for row in self._rows(f"{_CHUNK} WHERE session = ? AND last >= ? AND first <= ?"
                              " ORDER BY first", session, first, last):  # fmt: skip
            yield Chunk(*row)

    def thinned(self, session: Session) -> list[tuple[int, int]]:
        """First and last number of what was thinned, chunk by chunk."""
        rows = self._connection.execute(
            "SELECT first, last FROM chunk WHERE session = ? AND every > 1", (session.number,)
        )
        return list(rows)

    def pages(self) -> list[str]:
        """What the database itself finds wrong with its pages; empty where nothing is."""
        rows = [words for (words,) in self._connection.execute("PRAGMA integrity_check(20)")]
        return [] if rows == ["ok"] else rows

    def recent(
        self, session: Session, first: int | None = None, last: int | None = None
    ) -> list[bytes]:
        """The words of ticks of a range that are in no chunk yet, in order. Raises Damaged."""
        rows = self._rows("SELECT number, words, crc FROM recent WHERE session = ? AND number >= ?"
                          " AND number <= ? ORDER BY number", session, first, last)  # fmt: skip
        return [_sound(session, *row) for row in rows]

    def _rows(
        self, query: str, session: Session, first: int | None, last: int | None
    ) -> sqlite3.Cursor:
        low, high = (0 if first is None else first), (2**62 if last is None else last)
        return self._connection.execute(query, (session.number, low, high))

    def outline(
        self, session: Session, first: int | None = None, last: int | None = None
    ) -> tuple[list[int], list[bytes]]:
        """First numbers of the chunks of a range, and its rows: both as of the same moment.

        For what takes long: chunks stay, while rows become part of one. Raises Damaged.
        """
        # One transaction: a row must not become part of a chunk between the two looks.
        self._connection.execute("BEGIN")
        try:
            firsts = self._rows("SELECT first FROM chunk WHERE session = ? AND last >= ?"
                                " AND first <= ? ORDER BY first", session, first, last)  # fmt: skip
            return [number for (number,) in firsts], self.recent(session, first, last)
        finally:
            self._connection.execute("COMMIT")

    def blocks(
        self, session: Session, first: int | None = None, last: int | None = None,
        *, facts_only: bool = False,
    ) -> Iterator[tuple[Words, Words | None, Words]]:  # fmt: skip
        """Inputs, memory (None where it isn't there or wanted) and facts, a chunk at a time.

        Raises Damaged where a chunk can't be unpacked.
        """
        layout = session.layout
        inputs, facts = len(layout.inputs), len(layout.inputs) + len(layout.memory)
        # One transaction: a row must not become part of a chunk between the two looks.
        self._connection.execute("BEGIN")
        try:
            chunks = list(self.chunks(session, first, last))
            rows = self.recent(session, first, last)
        finally:
            self._connection.execute("COMMIT")
        for chunk in chunks:
            memory = None
            if chunk.memory is not None and not facts_only:
                memory = grown(chunk.memory, len(layout.memory), chunk.ticks)
            yield _cut(chunk.inputs_of(layout), memory, chunk.facts_of(layout), first, last)
        if rows:
            words = block(rows)
            yield words[:inputs], words[inputs:facts], words[facts:]

    def columns(
        self, session: Session, names: Sequence[str], first: int | None = None,
        last: int | None = None,
    ) -> Columns:  # fmt: skip
        """Some columns by name: float64, or int64 for what is whole, each as long as the others.

        What was thinned away is left out, and the memory of thinned rows is NaN, or 0 where it
        is whole; "number" tells which ticks are there. Raises KeyError for a name that the
        session doesn't have, Damaged as `blocks`.
        """
        layout = session.layout
        where = {name: (group, place) for group in range(3)
                 for place, name in enumerate(layout[group])}  # fmt: skip
        wanted = [(name, *where[name]) for name in names]
        parts: dict[str, list[NDArray[Any]]] = {name: [] for name in names}
        facts_only = all(group != 1 for _, group, _ in wanted)
        for groups in self.blocks(session, first, last, facts_only=facts_only):
            for name, group, place in wanted:
                words = groups[group]
                if words is None:
                    parts[name].append(np.full(groups[0].shape[1], np.nan))
                else:
                    parts[name].append(as_numbers(name, words[place]))
        empty: dict[bool, NDArray[Any]] = {True: np.zeros(0, np.int64), False: np.zeros(0)}
        return {
            name: np.concatenate(part) if part else empty[name in WHOLE_NUMBERS]
            for name, part in parts.items()
        }

    def last(self, session: Session, ticks: int, names: Sequence[str]) -> Columns:
        """The same for the last ticks, without a look at the rest of the file."""
        span = self.span(session)
        first = 0 if span is None else span[1] - ticks + 1
        return self.columns(session, names, first)

    def tick_at(self, session: Session, number: int) -> Tick | None:
        """One tick with everything; None where it isn't there, or was thinned.

        Raises ValueError for a tick of another version of the program, Damaged as `blocks`.
        """
        for inputs, memory, facts in self.blocks(session, number, number):
            if memory is not None and inputs.shape[1] > 0:
                return unpacked(row_of(np.vstack((inputs, memory, facts)), 0), session.layout)
        return None

    def state_at(self, session: Session, number: int) -> State | None:
        """What was remembered after a tick; None and errors as `tick_at`."""
        tick = self.tick_at(session, number)
        return None if tick is None else tick.state

    def origins(self, session: Session) -> dict[int, State]:
        """States that a tick began from, where that is not the state of the tick before.

        Raises ValueError where another version of the program wrote them.
        """
        rows = self._connection.execute(
            "SELECT number, words FROM origin WHERE session = ? ORDER BY number",
            (session.number,),
        )
        return {number: state_of_words(words) for number, words in rows}

    def trips(self, session: Session) -> list[Trip]:
        """The trips of a session, in order."""
        rows = self._connection.execute(
            "SELECT number, wall_s, phase, rows FROM trip WHERE session = ? ORDER BY number",
            (session.number,),
        )
        return [Trip(*row) for row in rows]

    def frames(
        self, session: Session, first: int | None = None, last: int | None = None
    ) -> list[Frame]:
        """Lines of a wire as they came, around trips."""
        rows = self._rows("SELECT number, line FROM frame WHERE session = ? AND number >= ?"
                          " AND number <= ? ORDER BY number, place", session, first, last)
        return [Frame(*row) for row in rows]  # fmt: skip

    def notes(self) -> list[Note]:
        """What people typed, in the order in which it was."""
        return self._told("note")

    def events(self) -> list[Note]:
        """What the writer had to say, in order."""
        return self._told("event")

    def _told(self, table: str) -> list[Note]:
        query = f"SELECT wall_s, session, number, words FROM {table} ORDER BY id"  # noqa: S608
        return [Note(*row) for row in self._connection.execute(query)]


def _sound(session: Session, number: int, words: bytes, crc: int) -> bytes:
    if checksum(words) != crc:
        raise Damaged(f"tick {number} of session {session.number} is not what was written")
    return words


def _cut(
    inputs: Words, memory: Words | None, facts: Words, first: int | None, last: int | None
) -> tuple[Words, Words | None, Words]:
    """The ticks of a chunk that lie in a range."""
    numbers = inputs[0].view(np.int64)
    low = 0 if first is None else int(np.searchsorted(numbers, first))
    high = len(numbers) if last is None else int(np.searchsorted(numbers, last, side="right"))
    part = slice(low, high)
    return inputs[:, part], None if memory is None else memory[:, part], facts[:, part]


def last_state(path: str | Path, kind: Kind | None = None) -> tuple[Session, Tick] | None:
    """The last tick of the newest session that has any: what a run is to go on from.

    With ``kind`` only sessions of that kind count. None in a journal without such a tick. Raises
    InputRefused as `Reader`, ValueError for ticks of another version of the program, Damaged where
    it can't be read.
    """
    with Reader(path) as reader:
        for session in reversed(reader.sessions()):
            span = reader.span(session) if kind in (None, session.kind) else None
            if span is not None:
                tick = reader.tick_at(session, span[1])
                if tick is not None:
                    return session, tick
    return None
