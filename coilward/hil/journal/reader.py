"""Reading a journal: while it is written, and after its writer was killed."""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.state import State
from coilward.hil.journal.chunks import HEADS, Head, words_of
from coilward.hil.journal.layout import Layout, layout_of
from coilward.hil.journal.opening import opened_to_read, refused
from coilward.hil.journal.packing import Words, rows_as_words, state_from, tick_of
from coilward.hil.journal.schema import BLOBS
from coilward.hil.tick import Tick

LAST: Final = 2**62
"""After every tick."""


class Kept(NamedTuple):
    """One session as the journal knows it."""

    id: int
    kind: str
    wall_s: float
    tick_s: float
    seed: int | None
    loop_name: str
    loop_text: str
    loop_id: str
    day: str
    constants: int
    code: str
    first: int | None
    """Of its ticks; None where it has none yet."""
    last: int | None
    ticks: int
    """How many are there: those that were thinned or lost are not."""


class Trip(NamedTuple):
    """A tick at which something tripped."""

    session: int
    number: int
    rows: int
    """Rows of rank 1 or 2 that began to count; 0 where only the phase got worse."""
    phase: int


class Frame(NamedTuple):
    """One line of the wire, as it came."""

    session: int
    number: int
    at_s: float
    sent: bool
    text: bytes


class Note(NamedTuple):
    """A line that a person or the journal itself wrote."""

    session: int | None
    wall_s: float
    text: str


class Part(NamedTuple):
    """Ticks that lie together: a chunk, or the single ticks after the last one."""

    words: Words
    """A row for each name of the layout."""
    every: int


class Reader:
    """One journal, to be read by one thread at a time. Every number comes as it went in."""

    def __init__(self, path: str | Path) -> None:
        """Raises InputRefused where this is no journal or can't be read."""
        self.path = Path(path)
        self._db = opened_to_read(path)
        self._layouts: dict[int, Layout] = {}
        self._version = self._data_version()

    def close(self) -> None:
        """Lets go of the file."""
        self._db.close()

    def __enter__(self) -> Reader:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def changed(self) -> bool:
        """Whether anything was written since this was last asked."""
        was, self._version = self._version, self._data_version()
        return was != self._version

    def sessions(self) -> list[Kept]:
        """Every start, oldest first."""
        return [Kept(*row) for row in self._rows(
            "SELECT s.id, s.kind, s.wall_s, s.tick_s, s.seed, s.loop_name, s.loop_text, s.loop_id, "
            "s.day, s.constants, s.code, coalesce(c.first, f.first), coalesce(f.last, c.last), "
            "coalesce(c.count, 0) + coalesce(f.count, 0) FROM session s LEFT JOIN (SELECT session, "
            "min(first) AS first, max(last) AS last, sum(count) AS count FROM chunk GROUP BY "
            "session) c ON c.session = s.id LEFT JOIN (SELECT session, min(number) AS first, "
            "max(number) AS last, count(*) AS count FROM fresh GROUP BY session) f "
            "ON f.session = s.id ORDER BY s.id"
        )]  # fmt: skip

    def before(self, session: int) -> State | None:
        """What the board remembered before the session's first tick; None where not known."""
        rows = self._rows("SELECT before FROM session WHERE id = ?", session)
        if not rows or rows[0][0] is None or not self.layout(session).is_ours:
            return None
        try:
            return state_from(rows[0][0])
        except (struct.error, ValueError) as error:
            raise self._damaged(f"session {session}", error) from None

    def layout(self, session: int) -> Layout:
        """The numbers of a session. Raises InputRefused where there is no such session."""
        if session not in self._layouts:
            try:
                self._layouts[session] = layout_of(self._db, session)
            except (ValueError, TypeError, sqlite3.Error) as error:
                raise refused(self.path, str(error), "a session that `journal list` tells") \
                    from None
        return self._layouts[session]

    def columns(
        self, session: int, names: Sequence[str], from_tick: int = 0, to_tick: int = LAST
    ) -> dict[str, NDArray[Any]]:
        """The numbers of these names by tick, floats or whole, from one tick to another, both in.

        `number` is always among them: thinned and lost ticks are not there. Raises InputRefused
        for a name that the session does not have.
        """
        layout = self.layout(session)
        unknown = [name for name in names if name not in layout.place]
        if unknown:
            raise refused(self.path, f"no number is called {unknown[0]}", "a name of the session")
        wanted = dict.fromkeys(["number", *names])
        groups = {layout.group_of(name) for name in wanted}
        parts = [part.words for part in self.parts(
            session, from_tick, to_tick, [group for group in BLOBS if group in groups]
        )]  # fmt: skip
        found: dict[str, NDArray[Any]] = {}
        for name in wanted:
            place = layout.place[name]
            kind = np.float64 if layout.is_float(place) else np.int64
            pieces = [words[place].view(kind) for words in parts]
            found[name] = np.concatenate(pieces) if pieces else np.empty(0, kind)
        return found

    def parts(
        self, session: int, from_tick: int = 0, to_tick: int = LAST,
        groups: Sequence[str] = BLOBS,
    ) -> Iterator[Part]:  # fmt: skip
        """Chunk after chunk, then the single ticks, cut to these ticks; never an empty one."""
        layout = self.layout(session)
        place = layout.place["number"]
        heads, rows = self._there(session, from_tick, to_tick)
        while heads:
            head = heads.pop(0)
            try:
                words = words_of(self._db, head, layout, groups)
            except LookupError:
                # Thinned in the meantime: the ticks that are left lie in another chunk.
                heads = self._heads(session, from_tick, heads[-1].last if heads else head.last)
                continue
            except ValueError as error:
                raise self._damaged(f"chunk {head.id}", error) from None
            yield from _cut(words, place, from_tick, to_tick, head.every)
            from_tick = head.last + 1
        if rows:
            try:
                words = rows_as_words(rows, len(layout.names))
            except ValueError as error:
                raise self._damaged("the newest ticks", error) from None
            yield Part(words, 1)

    def _there(
        self, session: int, from_tick: int, to_tick: int
    ) -> tuple[list[Head], list[bytes]]:
        """Chunks and single ticks at one moment: none is in both, none in neither."""
        self._rows("BEGIN")
        try:
            heads = self._heads(session, from_tick, to_tick)
            rows = [row[0] for row in self._rows(
                "SELECT words FROM fresh WHERE session = ? AND number BETWEEN ? AND ? "
                "ORDER BY number", session, from_tick, to_tick,
            )]  # fmt: skip
        finally:
            self._rows("COMMIT")
        return heads, rows

    def last(self, session: int | None = None) -> Tick | None:
        """The newest tick of a session, by default of the newest; None where there is none.

        Raises InputRefused where another version of the program wrote it.
        """
        if session is None:
            newest = self._rows("SELECT max(id) FROM session")[0][0]
            if newest is None:
                return None
            session = int(newest)
        return self.tick(session, LAST)

    def tick(self, session: int, number: int) -> Tick | None:
        """The newest tick up to that number; None where there is none."""
        layout = self.layout(session)
        if not layout.is_ours:
            raise refused(self.path, f"session {session} was written by another version of "
                          "coilward, which remembers other numbers", "a session of this version")
        rows = self._rows(
            "SELECT words FROM fresh WHERE session = ? AND number <= ? "
            "ORDER BY number DESC LIMIT 1", session, number,
        )  # fmt: skip
        try:
            if rows:
                return tick_of(rows[0][0])
            heads = [Head(*row) for row in self._rows(
                HEADS + " WHERE session = ? AND first <= ? ORDER BY first DESC LIMIT 1",
                session, number,
            )]  # fmt: skip
            if not heads:
                return None
            words = words_of(self._db, heads[0], layout)
            numbers = words[layout.place["number"]].view(np.int64)
            place = int(np.searchsorted(numbers, number, "right")) - 1
            return tick_of(np.ascontiguousarray(words[:, place]).tobytes())
        except (ValueError, LookupError, struct.error) as error:
            raise self._damaged(f"session {session}", error) from None

    def state_at(self, session: int, tick: int) -> State | None:
        """What the board remembered after a tick; None where that very tick is not there."""
        found = self.tick(session, tick)
        return found.state if found is not None and found.number == tick else None

    def trips(self, session: int | None = None) -> list[Trip]:
        """Every trip, of one session or of all."""
        where, values = _where(session)
        return [Trip(*row) for row in self._rows(
            f"SELECT session, number, rows, phase FROM trip{where} ORDER BY session, number",  # noqa: S608 - no value in it
            *values,
        )]  # fmt: skip

    def notes(self) -> list[Note]:
        """Every note, in the order in which they were written."""
        return [Note(*row) for row in self._rows("SELECT session, wall_s, text FROM note "
                                                 "ORDER BY id")]  # fmt: skip

    def frames(self, session: int | None = None) -> list[Frame]:
        """Lines of the wire around the trips, of one session or of all."""
        where, values = _where(session)
        return [Frame(row[0], row[1], row[2], bool(row[3]), row[4]) for row in self._rows(
            f"SELECT session, number, at_s, sent, text FROM frame{where} ORDER BY id", *values,  # noqa: S608 - no value in it
        )]  # fmt: skip

    def _heads(self, session: int, from_tick: int, to_tick: int) -> list[Head]:
        return [Head(*row) for row in self._rows(
            HEADS + " WHERE session = ? AND last >= ? AND first <= ? ORDER BY first",
            session, from_tick, to_tick,
        )]  # fmt: skip

    def _data_version(self) -> int:
        return int(self._rows("PRAGMA data_version")[0][0])

    def _rows(self, query: str, *values: int) -> list[Any]:
        try:
            return self._db.execute(query, values).fetchall()
        except sqlite3.Error as error:
            raise self._damaged("the file", error) from None

    def _damaged(self, what: str, error: Exception) -> Exception:
        return refused(self.path, f"{what} is damaged ({error})", "a journal that `journal check` "
                       "finds nothing in")  # fmt: skip


def last_state(path: str | Path) -> tuple[State, Kept] | None:
    """What a board remembered last, and in which session; None where no tick was ever written.

    For a restart. Raises InputRefused where this is no journal or another version wrote it.
    """
    with Reader(path) as reader:
        for session in reversed(reader.sessions()):
            if (tick := reader.last(session.id)) is not None:
                return tick.state, session
    return None


def _cut(
    words: Words, place: int, from_tick: int, to_tick: int, every: int
) -> Iterator[Part]:
    numbers = words[place].view(np.int64)
    if numbers[0] < from_tick or numbers[-1] > to_tick:
        words = words[:, (numbers >= from_tick) & (numbers <= to_tick)]
    if words.shape[1]:
        yield Part(words, every)


def _where(session: int | None) -> tuple[str, tuple[int, ...]]:
    return ("", ()) if session is None else (" WHERE session = ?", (session,))
