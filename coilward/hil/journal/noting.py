"""Notes that a person types beside the ticks."""

from __future__ import annotations

from pathlib import Path

from coilward.hil.journal.reader import Reader
from coilward.hil.journal.store import changing, open_to_write


def add_note(path: str | Path, words: str, wall_s: float) -> None:
    """Keep a note with its time, at the last tick that is there; also while a run writes.

    Raises InputRefused where there is no journal, sqlite3.Error where the disk refuses.
    """
    with Reader(path) as reader:
        sessions = reader.sessions()
        span = reader.span(sessions[-1]) if sessions else None
    connection = open_to_write(path)
    try:
        with changing(connection, to_disk=True):
            connection.execute(
                "INSERT INTO note (wall_s, session, number, words) VALUES (?, ?, ?, ?)",
                (wall_s, sessions[-1].number if sessions else 0, span[1] if span else -1, words),
            )
    finally:
        connection.close()
