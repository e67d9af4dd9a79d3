"""Where the page gets its ticks from: one protocol, and the source that stays in memory."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Protocol

from coilward.controller.constants import Constants, constants_for
from coilward.hil.tick import Tick
from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.units import System

MOST_WAITING: Final = 4096
"""Ticks that wait for a reader; the oldest are dropped, and the page starts afresh after a gap."""


@dataclass(frozen=True)
class Place:
    """What stays the same while ticks come: the loop, and the numbers that follow from it."""

    loop: Loop
    derived: Derived
    constants: Constants
    system: System

    @classmethod
    def of(cls, loop: Loop, derived: Derived, system: System | None = None) -> Place:
        """The place of a loop, in the loop's own units unless others are asked for."""
        return cls(loop, derived, constants_for(loop, derived), system or loop.units)


class Source(Protocol):
    """Ticks of one night, in order. `new` is called about twenty times a second."""

    place: Place
    kind: str
    """What is watched, in words: "a rehearsal of greenhouse: quiet"."""
    live: bool
    """Whether wires and a fire may be behind it."""

    def new(self) -> Iterable[Tick]:
        """The ticks that have come since the last call; after a gap the newest ones only."""

    def over(self) -> bool:
        """Whether no tick will come any more, and that is as it should be."""


class MemorySource:
    """Ticks that a thread of this process brings. Holds no more than those not yet taken."""

    live = False

    def __init__(self, place: Place, kind: str) -> None:
        self.place, self.kind = place, kind
        self._waiting: deque[Tick] = deque(maxlen=MOST_WAITING)
        self._lock = threading.Lock()
        self._over = False

    def put(self, tick: Tick) -> None:
        """One more tick, from any thread."""
        with self._lock:
            self._waiting.append(tick)

    def end(self) -> None:
        """No more will come."""
        self._over = True

    def new(self) -> Iterable[Tick]:
        """The ticks since the last call."""
        with self._lock:
            taken = list(self._waiting)
            self._waiting.clear()
        return taken

    def over(self) -> bool:
        """Whether the last tick has been taken."""
        return self._over and not self._waiting
