"""A journal as a source: followed while it is written, or replayed from its start at any speed."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import Final

import numpy as np

from coilward.desk.live.source import Place
from coilward.hil.journal.layout import row_of, unpacked
from coilward.hil.journal.packing import Damaged
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.session import Session
from coilward.hil.journal.store import refused
from coilward.hil.tick import Tick
from coilward.loop.derived import derive
from coilward.loop.units import System

LOOKED_BACK_S: Final = 8 * 3600.0
"""What is read of a journal when its page begins."""
EVERY_TICK_S: Final = 60.0
"""Before this only one tick a second is read."""
LONGEST_GAP_S: Final = 5.0
"""A longer silence in a journal is not waited for in a replay."""
ENDED_S: Final = 1.5
"""A rehearsal that wrote nothing for so long is over."""
UNREADABLE: Final = (Damaged, ValueError, sqlite3.Error)


def opened(name: str, system: System | None) -> tuple[Reader, Session, Place]:
    """A journal's newest session, and the place that it belongs to.

    Raises InputRefused for a file that is no journal, that has no ticks, or whose numbers this
    version of the program would not derive from its loop.
    """
    reader = Reader(name)
    try:
        sessions = [each for each in reader.sessions() if reader.span(each) is not None]
        if not sessions:
            raise refused(name, "nothing has been written into it yet")
        session = sessions[-1]
        loop = session.loop()
        place = Place.of(loop, derive(loop, date.fromisoformat(session.day)), system)
        ours = place.constants.checksum == session.checksum and session.layout.is_ours()
        if not ours:
            raise refused(name, "it was written by another version of the program, or with other "
                          "numbers", "the version that wrote it")  # fmt: skip
    except BaseException:
        reader.close()
        raise
    return reader, session, place


def ticks_of(
    reader: Reader, session: Session, first: int, every_from: int = 0, apart: int = 1
) -> Iterator[Tick]:
    """The whole ticks of a session from a number on; before ``every_from`` one in ``apart``.

    What was thinned has no memory, and is left out. Raises one of `UNREADABLE`.
    """
    for inputs, memory, facts in reader.blocks(session, first):
        if memory is None:
            continue
        words = np.vstack((inputs, memory, facts))
        for place, number in enumerate(inputs[0].view(np.int64)):
            if number >= every_from or number % apart == 0:
                yield unpacked(row_of(words, place), session.layout)


class JournalSource:
    """The end of a journal, as it is written."""

    def __init__(
        self, name: str, system: System | None, clock_s: Callable[[], float] = time.monotonic
    ) -> None:
        self._clock_s, self._came_s = clock_s, clock_s()
        self._reader, self._session, self.place = opened(name, system)
        self.live = self._session.kind == "run"
        kinds = {"run": "a run", "rehearsal": "a rehearsal", "bench": "a bench run"}
        about = f": {self._session.about}" if self._session.about else ""
        self.kind = f"{kinds[self._session.kind]} of {self.place.loop.name}{about}"
        self._next = -1

    def new(self) -> Iterable[Tick]:
        """What was written since; at first the last hours, coarsely but for the last minute."""
        if not self._reader.changed():
            return []
        try:
            found = list(self._since())
        except UNREADABLE:
            # Nothing new: the page will say that it is stale, which is all that can be said.
            return []
        if found:
            self._next, self._came_s = found[-1].number + 1, self._clock_s()
        return found

    def _since(self) -> Iterator[Tick]:
        self._go_on()
        if self._next >= 0:
            return ticks_of(self._reader, self._session, self._next)
        span = self._reader.span(self._session)
        if span is None:
            return iter(())
        tick_s = self._session.tick_s
        first = max(span[0], span[1] - round(LOOKED_BACK_S / tick_s))
        every_from = span[1] - round(EVERY_TICK_S / tick_s)
        return ticks_of(
            self._reader, self._session, first, every_from, max(1, round(1.0 / tick_s))
        )

    def _go_on(self) -> None:
        """A control process that started again writes a session of its own; same loop, go on."""
        newest = self._reader.sessions()[-1]
        if newest.number == self._session.number or self._reader.span(newest) is None:
            return
        if newest.checksum == self._session.checksum and newest.layout == self._session.layout:
            self._session, self._next = newest, 0

    def over(self) -> bool:
        """A rehearsal that was written down has an end; a run that falls silent has not."""
        return not self.live and self._clock_s() - self._came_s > ENDED_S


class ReplaySource:
    """A journal's newest session from its start, at ``speed`` times real time."""

    live = False

    def __init__(
        self, name: str, system: System | None, speed: float,
        clock_s: Callable[[], float] = time.monotonic,
    ) -> None:  # fmt: skip
        reader, session, self.place = opened(name, system)
        self.kind = f"a replay of {self.place.loop.name} at {speed:g} times its speed"
        self._speed, self._clock_s = speed, clock_s
        self._ticks = ticks_of(reader, session, 0)
        self._waiting = next(self._ticks, None)
        self._shown_s = 0.0 if self._waiting is None else self._waiting.readings.time_s
        self._last_s: float | None = None

    def new(self) -> Iterable[Tick]:
        """What is due by now."""
        now_s = self._clock_s()
        if self._last_s is not None:
            self._shown_s += self._speed * (now_s - self._last_s)
        self._last_s = now_s
        found = []
        while self._waiting is not None and self._waiting.readings.time_s <= self._shown_s:
            found.append(self._waiting)
            was_s = self._waiting.readings.time_s
            self._waiting = self._after()
            if self._waiting is not None and self._waiting.readings.time_s > was_s + LONGEST_GAP_S:
                self._shown_s = self._waiting.readings.time_s
                break
        return found

    def _after(self) -> Tick | None:
        try:
            return next(self._ticks, None)
        except UNREADABLE:
            return None

    def over(self) -> bool:
        """Whether its end was reached."""
        return self._waiting is None
