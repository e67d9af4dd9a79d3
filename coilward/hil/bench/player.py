"""One board at the end of a wire, and the ways to begin anew with it."""

from __future__ import annotations

import time
from collections.abc import Callable

from coilward import __version__
from coilward.controller.constants import Constants
from coilward.controller.state import State
from coilward.controller.types import Requests
from coilward.hil.bench.timing import Times
from coilward.hil.converting import Converter
from coilward.hil.far_logic import Compared, Difference
from coilward.hil.frames import Value, Values
from coilward.hil.link import Link, Port
from coilward.hil.logic_side import NOTHING, Being
from coilward.hil.plant_side import Answer, PlantSide
from coilward.hil.tick import digest

GREETS_S = 5.0
ANSWERS_S = 2.0
"""A board that leaves a tick without an answer for this long has lost it."""
OTHER_MEMORY = "takes over another memory than it was sent"
Opens = Callable[[], Port]


class TimedSide(PlantSide):
    """Times every answer and, against the clock, sends every tick when it is due."""

    def __init__(self, link: Link, being: Being, times: Times, *, paced: bool) -> None:
        """``times`` are those of the whole bench."""
        super().__init__(link, being)
        self.times, self.paced = times, paced
        self.counts = True
        """Whether answers are timed: what a spoilt wire delays says nothing of the board."""
        self.told_silent = 0
        """Silences of this session, as the last answer tells them."""
        self._due_s = 0.0

    def exchange(
        self, tick: int, raw: dict[str, Value], requests: Requests, within_s: float
    ) -> Answer:
        """A tick and its answer; see `PlantSide.exchange`."""
        if self.paced:
            self._wait()
        begun_s = time.monotonic()
        answer = super().exchange(tick, raw, requests, within_s)
        if self.counts:
            self.times.add(time.monotonic() - begun_s)
        self.told_silent = answer.told.silent
        return answer

    def _wait(self) -> None:
        """Until a tick after the last one; what was late is not made up for."""
        now_s = time.monotonic()
        if self._due_s > now_s:
            time.sleep(self._due_s - now_s)
        self._due_s = max(self._due_s, now_s) + self.being.tick_s


class Player:
    """Opens the wire, greets the board, and begins sessions in any state."""

    def __init__(
        self, opens: Opens, constants: Constants, convert: Converter, *, paced: bool = False
    ) -> None:
        """``opens`` gives the port, and gives it again after the wire was lost."""
        self.opens, self.constants, self.convert, self.paced = opens, constants, convert, paced
        self.being = Being(constants.checksum, constants.tick_s, f"coilward-bench-{__version__}")
        self.times = Times()
        self.clock = time.monotonic
        self.greets_s, self.answers_s = GREETS_S, ANSWERS_S
        self.ticks = 0
        """Ticks of all sessions that are over."""
        self.held: Compared | None = None
        self.side = self._side(opens())

    def _side(self, port: Port) -> TimedSide:
        link = Link(port)
        link.clock = self.clock
        return TimedSide(link, self.being, self.times, paced=self.paced)

    def greet(self) -> Values:
        """A new session, and what the board says of itself. Raises Refused, LinkLost."""
        return self.side.greet(self.greets_s)

    def begin(self, state: State) -> Compared:
        """A new session in this state, every answer held against the reference.

        Raises Refused, LinkLost.
        """
        self._count()
        self.greet()
        told = self.side.set_state(state, self.answers_s)
        self.held = Compared(self.side, self.convert, within_s=self.answers_s)
        if told != digest(state, NOTHING):
            self.held.differing += 1
            self.held.differences.append(Difference(0, OTHER_MEMORY))
        return self.held

    def through(self, wraps: Callable[[Port], Port]) -> None:
        """Go on over the same wire, with something in between."""
        self.side.link.port = wraps(self.side.link.port)
        self.side.link.decoder.forget()

    def replug(self) -> None:
        """Pull the plug and put it in again. Raises InputRefused where the port is gone."""
        self.side.link.port.close()
        self.side = self._side(self.opens())

    def close(self) -> None:
        """Let go of the port."""
        self._count()
        self.side.link.port.close()

    def silence(self, seconds: float) -> float:
        """Send nothing; seconds until the board tells of a silence, at most these."""
        begun_s = self.side.link.clock()
        while (passed_s := self.side.link.clock() - begun_s) < seconds and not self.side.silent:
            self.side.attend()
        return passed_s

    def _count(self) -> None:
        if self.held is not None:
            self.ticks += self.held.tick
            self.held = None

