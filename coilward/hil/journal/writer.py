"""The journal's own thread: control hands a tick over and goes on, whatever the disk does."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Final

from coilward.controller.state import State
from coilward.hil.journal.keeping import Frames, Keeper
from coilward.hil.journal.session import Session
from coilward.hil.tick import Tick

AGAIN_S: Final = 1.0
"""Pause after a refusal of the disk."""
QUEUED: Final = 10_000
"""Ticks that may wait for the thread itself; it is never that far behind but when it hangs."""
STOP: Final = None
_Handed = tuple[Tick, Frames, State | None]


class Writer:
    """Takes ticks from one thread, and writes them in another.

    What is put is in the file within a fraction of a second, and then survives the end of the
    process. While the disk refuses, the last minutes wait in memory; what had to be given up is
    counted in `dropped`, and said in an event of the file once it takes any again.
    """

    def __init__(
        self, path: str | Path, session: Session, first: State,
        say: Callable[[str], None] | None = None,
    ) -> None:  # fmt: skip
        """Begin a session with the state before its first tick; ``say`` gets words of trouble.

        ``say`` is called from the writing thread. Raises InputRefused where the file is no
        journal, sqlite3.Error where it can't be opened.
        """
        self._keeper = Keeper(path, session, first)
        self._say = say or (lambda _: None)
        self._queue: SimpleQueue[_Handed | None] = SimpleQueue()
        self._overrun = 0
        self._last, self._skipped = first, False
        self._trouble = ""
        self._told = 0
        self._thread = threading.Thread(target=self._work, name="journal", daemon=True)
        self._thread.start()

    @property
    def session(self) -> Session:
        """The session as it is in the file."""
        return self._keeper.session

    @property
    def dropped(self) -> int:
        """Ticks that were given up."""
        return self._keeper.dropped + self._overrun

    @property
    def trouble(self) -> str:
        """Why the disk refuses at this moment; empty where it doesn't."""
        return self._trouble

    def put(self, tick: Tick, frames: Frames = (), begun_from: State | None = None) -> None:
        """Hand a tick over, with the wire's lines as they came: at once, and without ever raising.

        ``begun_from`` is the state that it was decided from, where that is not the state of the
        tick before: after a restart of the board.
        """
        before, self._last = self._last, tick.state
        if self._queue.qsize() >= QUEUED:
            self._overrun += 1
            self._skipped = True
            return
        if self._skipped:
            begun_from, self._skipped = begun_from or before, False
        self._queue.put((tick, frames, begun_from))

    def close(self, timeout_s: float = 10.0) -> None:
        """Write what is left, or give it up after a time."""
        self._queue.put(STOP)
        self._thread.join(timeout_s)

    def _work(self) -> None:
        going = True
        while going:
            going = self._take_all()
            self._write()
            while self._trouble and going:
                # Nothing is lost while it waits: what comes meanwhile is taken below.
                going = self._take_until(time.monotonic() + AGAIN_S)
                self._write()
        try:
            self._keeper.close()
        except Exception as error:
            self._say(f"the end of the journal could not be written: {error}")

    def _take_all(self) -> bool:
        """Wait for a tick, and take all that are there by then; False at the end."""
        handed = self._queue.get()
        while handed is not STOP:
            self._take(handed)
            try:
                handed = self._queue.get_nowait()
            except Empty:
                return True
        return False

    def _take_until(self, end_s: float) -> bool:
        while (left_s := end_s - time.monotonic()) > 0.0:
            try:
                handed = self._queue.get(timeout=left_s)
            except Empty:
                return True
            if handed is STOP:
                return False
            self._take(handed)
        return True

    def _take(self, handed: _Handed) -> None:
        tick, frames, begun_from = handed
        try:
            self._keeper.take(tick, frames, begun_from)
        except Exception as error:
            # Whatever it is: a tick that is none must not end the thread that keeps all others.
            self._overrun += 1
            self._say(f"a tick could not be kept: {error}")

    def _write(self) -> None:
        try:
            self._keeper.write()
            self._keeper.tidy()
            if self.dropped > self._told:
                why = self._trouble or "they came too fast"
                words = f"{self.dropped - self._told} ticks were not kept: {why}"
                self._keeper.tell(time.time(), words)
                self._told = self.dropped
        except Exception as error:
            # Most often the disk; and whatever it is, the thread goes on.
            if not self._trouble:
                self._say(f"the journal can't be written: {error}; the last minutes wait in memory")
            self._trouble = str(error) or type(error).__name__
        else:
            if self._trouble:
                self._say("the journal is written again")
            self._trouble = ""
