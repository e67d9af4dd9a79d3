"""The file of a journal: its tables, and how it is opened to write and to read."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from coilward.hil.journal.layout import Layout
from coilward.hil.journal.session import Session
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import printable

VERSION: Final = 1
MARK: Final = 0x436F696C
"""Stands in the head of the file, so that another database is not taken for a journal."""
WAITS_S: Final = 5.0
WAL_BYTES: Final = 16_000_000
WANTED: Final = "a journal, as `coilward rehearse LOOP --night NIGHT --journal FILE` writes one"

SCHEMA: Final = """
CREATE TABLE session (
    id INTEGER PRIMARY KEY, kind TEXT, loop_text TEXT, loop_id TEXT, checksum INTEGER, code TEXT,
    day TEXT, tick_s REAL, began_s REAL, about TEXT, seed INTEGER, layout TEXT);
CREATE TABLE recent (
    session INTEGER, number INTEGER, words BLOB, crc INTEGER,
    PRIMARY KEY (session, number)) WITHOUT ROWID;
CREATE TABLE chunk (
    id INTEGER PRIMARY KEY, session INTEGER, first INTEGER, last INTEGER, ticks INTEGER,
    every INTEGER, end_s REAL, kept INTEGER DEFAULT 0, inputs BLOB, memory BLOB, facts BLOB, hash BLOB);
CREATE INDEX chunk_of ON chunk (session, first, last);
CREATE INDEX chunk_age ON chunk (kept, every, end_s);
CREATE TABLE origin (
    session INTEGER, number INTEGER, words BLOB, PRIMARY KEY (session, number)) WITHOUT ROWID;
CREATE TABLE trip (
    session INTEGER, number INTEGER, wall_s REAL, phase INTEGER, rows INTEGER,
    PRIMARY KEY (session, number)) WITHOUT ROWID;
CREATE TABLE frame (
    session INTEGER, number INTEGER, place INTEGER, line BLOB,
    PRIMARY KEY (session, number, place)) WITHOUT ROWID;
CREATE TABLE note (id INTEGER PRIMARY KEY, wall_s REAL, session INTEGER, number INTEGER, words TEXT);
CREATE TABLE event (id INTEGER PRIMARY KEY, wall_s REAL, session INTEGER, number INTEGER, words TEXT);
"""  # noqa: E501
"""`every` of a chunk is 1 where each tick is there, else 40 where one in 40 was kept; `kept` is 1
for what stays for ever; `end_s` counts seconds of recording, over all sessions."""


def open_to_write(path: str | Path) -> sqlite3.Connection:
    """A journal, made where there is none.

    Raises InputRefused for a file that is no journal of this version, sqlite3.Error where the
    disk refuses.
    """
    name = str(path)
    connection = sqlite3.connect(
        path, timeout=WAITS_S, isolation_level=None, check_same_thread=False
    )
    try:
        if _is_bare(connection, name):
            connection.execute("PRAGMA journal_mode=WAL")
            connection.execute("BEGIN IMMEDIATE")
            for statement in SCHEMA.split(";"):
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id={MARK}")
            connection.execute(f"PRAGMA user_version={VERSION}")
            connection.execute("COMMIT")
        else:
            _expect(connection, name)
        connection.execute("PRAGMA synchronous=NORMAL")
        connection.execute(f"PRAGMA journal_size_limit={WAL_BYTES}")
    except BaseException:
        connection.close()
        raise
    return connection


def open_to_read(path: str | Path) -> sqlite3.Connection:
    """A journal that may be written at the same time.

    Raises InputRefused where there is none, or for a file that is no journal of this version.
    """
    name, file = str(path), Path(path)
    if file.is_dir():
        raise refused(name, "this is a directory")
    if not file.exists():
        raise refused(name, "there is no such file")
    try:
        if file.stat().st_size == 0:
            raise refused(name, "the file is empty")
        connection = sqlite3.connect(
            f"{file.absolute().as_uri()}?mode=ro", uri=True, timeout=WAITS_S, isolation_level=None,
            check_same_thread=False,
        )  # fmt: skip
    except (OSError, sqlite3.Error) as error:
        raise refused(name, f"the file cannot be read ({str(error).lower()})") from None
    try:
        _expect(connection, name)
    except BaseException:
        connection.close()
        raise
    return connection


def is_bare(path: str | Path) -> bool:
    """Whether nothing is in a file yet: there is none, or its maker was killed at once.

    It is for who will write to the file: what a killed maker left half done is undone, which a
    reader may not do. Raises InputRefused for a file that is no database.
    """
    name, file = str(path), Path(path)
    if not file.exists() or (file.is_file() and file.stat().st_size == 0):
        return True
    try:
        connection = sqlite3.connect(f"{file.absolute().as_uri()}?mode=rw", uri=True)
    except sqlite3.Error as error:
        raise refused(name, f"the file cannot be read ({str(error).lower()})") from None
    with closing(connection):
        return _is_bare(connection, name)


def _is_bare(connection: sqlite3.Connection, name: str) -> bool:
    """Whether nothing is in it yet: a new file, or one whose maker was killed at once."""
    try:
        (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.DatabaseError as error:
        raise refused(name, f"this is no journal, or a damaged one ({error})") from None
    return bool(tables == 0)


def _expect(connection: sqlite3.Connection, name: str) -> None:
    try:
        (mark,) = connection.execute("PRAGMA application_id").fetchone()
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        connection.execute("SELECT count(*) FROM session").fetchone()
    except sqlite3.DatabaseError as error:
        raise refused(name, f"this is no journal, or a damaged one ({error})") from None
    if mark != MARK:
        raise refused(name, "this is a database, but no journal")
    if version != VERSION:
        raise refused(name, f"this journal is of version {version}", f"version {VERSION}")


def refused(name: str, problem: str, accepted: str = WANTED) -> InputRefused:
    """One fault of a whole file."""
    return InputRefused([Fault(printable(name, 300) or "(no name)", None, "", "", problem,
                               accepted)])  # fmt: skip


@contextmanager
def changing(connection: sqlite3.Connection, *, to_disk: bool = False) -> Iterator[None]:
    """One transaction; with ``to_disk`` it, and all before it, survives a power cut as well."""
    connection.execute(f"PRAGMA synchronous={'FULL' if to_disk else 'NORMAL'}")
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def put_session(connection: sqlite3.Connection, session: Session) -> int:
    """The session's number in the file."""
    row = (*session[:10], json.dumps(session.layout))
    added = connection.execute(
        "INSERT INTO session (kind, loop_text, loop_id, checksum, code, day, tick_s, began_s,"
        " about, seed, layout) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", row,
    )  # fmt: skip
    return int(added.lastrowid or 0)


def sessions_in(connection: sqlite3.Connection) -> list[Session]:
    """All sessions, the oldest first."""
    found = []
    for number, *row, names in connection.execute("SELECT * FROM session ORDER BY id"):
        layout = Layout(*(tuple(group) for group in json.loads(names)))
        found.append(Session._make([*row, layout, number]))
    return found
