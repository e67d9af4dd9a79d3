"""Everybody who watches: each has room for one message, and the newest one takes it."""

from __future__ import annotations

import asyncio
from typing import Final

from coilward.desk.live.watching import Watching

LOOK_S: Final = 0.04
"""How often the source is asked."""
APART_S: Final = 0.1
"""Messages come no faster, but for one that tells of an alarm or a phase."""
QUIET_S: Final = 0.9
"""A message comes at least so often, so that a page knows that it is not cut off."""
MOST_VIEWERS: Final = 24


class Viewer:
    """One reader. What it is too slow for is replaced, never queued."""

    def __init__(self) -> None:
        self._message: bytes | None = None
        self._there = asyncio.Event()

    def offer(self, message: bytes) -> None:
        """Take the place of what has not been read."""
        self._message = message
        self._there.set()

    async def next(self) -> bytes:
        """The newest message not read yet."""
        await self._there.wait()
        self._there.clear()
        message, self._message = self._message, None
        return message or b""


class Hub:
    """Asks the source, and offers every viewer what is new."""

    def __init__(self, watching: Watching) -> None:
        self.watching = watching
        self.viewers: set[Viewer] = set()
        self.newest = b""

    def join(self) -> Viewer | None:
        """One more viewer, who is told the newest at once; None where there are too many."""
        if len(self.viewers) >= MOST_VIEWERS:
            return None
        viewer = Viewer()
        self.viewers.add(viewer)
        self.say(to=viewer)
        return viewer

    def leave(self, viewer: Viewer) -> None:
        """One less."""
        self.viewers.discard(viewer)

    def say(self, to: Viewer | None = None) -> None:
        """Make the message of now, and offer it to one or to all."""
        self.newest = self.watching.message()
        for viewer in self.viewers if to is None else (to,):
            viewer.offer(self.newest)

    async def run(self) -> None:
        """For as long as the server runs."""
        loop = asyncio.get_running_loop()
        said_s, known = -QUIET_S, self.watching.grave()
        waits = False
        while True:
            waits = self.watching.take() or waits
            now_s, grave = loop.time(), self.watching.grave()
            due = waits and now_s - said_s >= APART_S
            if self.viewers and (due or grave != known or now_s - said_s >= QUIET_S):
                self.say()
                said_s, waits = now_s, False
            known = grave
            await asyncio.sleep(LOOK_S)
