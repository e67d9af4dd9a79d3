"""Opening a journal: what is none is refused before anything is done with it."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from typing import Final

from coilward.hil.journal.chunks import make
from coilward.hil.journal.schema import APPLICATION, VERSION
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import printable

MAGIC: Final = b"SQLite format 3\0"
BUSY_S: Final = 5.0
WANTED: Final = "a journal, as coilward rehearse --journal writes one"


def refused(path: str | Path, problem: str, wanted: str = WANTED) -> InputRefused:
    """A journal that can't be used, in the words of every other refused file."""
    return InputRefused([Fault(printable(str(path), 300) or "(no name)", None, "", "", problem,
                               wanted)])  # fmt: skip


def refuse_unless_journal(path: str | Path) -> None:
    """Raises InputRefused where something lies there that is neither empty nor a journal."""
    path = Path(path)
    try:
        if path.is_dir():
            raise refused(path, "this is a directory")
        if not path.parent.is_dir():
            raise refused(path, "there is no such folder", "a name in a folder that is there")
        if not path.exists() or (path.is_file() and path.stat().st_size == 0):
            return
        if not path.is_file():
            raise refused(path, "this is not an ordinary file")
        with path.open("rb") as stream:
            head = stream.read(100)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise refused(path, f"the file cannot be read ({reason.lower()})") from None
    application, version = head[68:72], head[60:64]
    if head[:16] != MAGIC or application not in (APPLICATION.to_bytes(4, "big"), bytes(4)):
        raise refused(path, "this is not a journal")
    # A journal that was killed at birth may still have its header in the log beside it.
    if application == bytes(4) and not Path(f"{path}-wal").exists():
        raise refused(path, "this is another kind of SQLite file, not a journal")
    if int.from_bytes(version, "big") > VERSION:
        raise refused(path, "this journal was written by a newer version of coilward")


def opened(path: Path) -> sqlite3.Connection:
    """A journal to write, made where there is none. Raises sqlite3.Error."""
    db = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None, check_same_thread=False)
    try:
        db.execute("PRAGMA trusted_schema = OFF")
        if db.execute("PRAGMA user_version").fetchone()[0] == 0:
            make(db)
        db.execute("PRAGMA synchronous = NORMAL")
    except BaseException:
        db.close()
        raise
    return db


def opened_to_read(path: str | Path) -> sqlite3.Connection:
    """A journal to read, also while it is written.

    Raises InputRefused where it is none or can't be read.
    """
    path = Path(path)
    refuse_unless_journal(path)
    if not path.exists():
        raise refused(path, "there is no such file")
    if path.stat().st_size == 0:
        raise refused(path, "the file is empty")
    where = path.resolve().as_uri()
    alone = not Path(f"{path}-wal").exists() and not os.access(path.parent, os.W_OK)
    # Without a log beside it, in a folder that can't be written to, nothing can change it.
    flags = "mode=ro&immutable=1" if alone else "mode=ro"
    db = None
    try:
        db = sqlite3.connect(
            f"{where}?{flags}", uri=True, timeout=BUSY_S, isolation_level=None,
            check_same_thread=False,
        )
        db.execute("PRAGMA trusted_schema = OFF")
        version = db.execute("PRAGMA user_version").fetchone()[0]
        application = db.execute("PRAGMA application_id").fetchone()[0]
        db.execute("SELECT count(*) FROM session").fetchone()
    except sqlite3.Error as error:
        if db is not None:
            db.close()
        raise refused(path, f"the file is damaged or incomplete ({error})") from None
    if application != APPLICATION or version != VERSION:
        db.close()
        raise refused(path, "this is not a journal of this version")
    return db
