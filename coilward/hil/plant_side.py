"""The side that has the plant: sends each tick in lines, and hears what the outputs shall do.

A board without logic runs this, and so does a computer that plays a plant to a board. Lines
that are lost are sent again until the tick is answered or its time is over.
"""

from __future__ import annotations

import secrets
import time
from typing import NamedTuple

from coilward.controller.state import NO, State
from coilward.controller.types import Commands, Requests
from coilward.hil.frames import Frame, Value, Values, number
from coilward.hil.link import Link, LinkLost
from coilward.hil.logic_side import Being, commands_of, greeting, refusal
from coilward.hil.messages import MEMORY, TICK_PARTS
from coilward.hil.tick import FIELDS, flat

AGAIN_S = 0.08
"""Without an answer for this long the lines are sent again: a tick's lines take half of it at
115,200 baud."""
HELLO_EVERY_S = 0.5
SPLIT = tuple((part.name, tuple(part.by_name)) for part in TICK_PARTS)


class Told(NamedTuple):
    """What the logic holds true after a tick, in its own words."""

    phase: int
    fire: int
    coil: int
    raised: int
    latched: int
    first_out: int
    digest: int
    silent: int


class Answer(NamedTuple):
    """The answer to a tick."""

    commands: Commands
    told: Told


class Refused(Exception):  # noqa: N818 - what happened, not an error of the program
    """The other side does not talk to us: why."""


class PlantSide:
    """Sends ticks on a link and hears the answers."""

    def __init__(self, link: Link, being: Being) -> None:
        """What this side says of itself is the same at every greeting."""
        self.link, self.being = link, being
        self.logic: Values | None = None
        """What the logic said of itself; None before it did."""
        self.sent_again = 0
        """Times that lines of a tick were sent once more."""
        self.odd = 0
        """Answers with a command out of its range: none of them is ever obeyed."""
        self.last: Told | None = None
        """What the logic last held true."""
        self.left = False
        """The logic has taken its leave, with no fire in: nothing is amiss while it is away."""
        self.silent: Values | None = None
        """What a bench board told in its last silence in this session."""
        self._opened = 0
        self._hello_s = -HELLO_EVERY_S
        self._tick: int | None = None
        self._parts: list[tuple[str, Values]] = []
        self._commands: Commands | None = None
        self._told: Told | None = None
        self._restarts = 0
        self._done: int | None = None

    # ---- greeting -----------------------------------------------------------------------

    def open(self) -> None:
        """Begin a session: the logic has to greet before anything else counts."""
        self._opened = 1 + secrets.randbelow(0xFFFF)
        self.logic, self._restarts, self._tick, self.silent = None, 0, None, None
        self._hello_s = -HELLO_EVERY_S

    def greet(self, within_s: float) -> Values:
        """Open a session and wait for the logic's greeting.

        Raises Refused, and LinkLost where nobody answers.
        """
        self.open()
        until_s = time.monotonic() + within_s
        while self.logic is None:
            if time.monotonic() > until_s:
                raise LinkLost(f"nobody answered within {within_s:g} s")
            self.attend()
        return self.logic

    def attend(self) -> None:
        """Hear what has arrived, and keep asking for a greeting while there was none."""
        if self.logic is None and time.monotonic() - self._hello_s > HELLO_EVERY_S:
            self._hello_s = time.monotonic()
            self.link.session = 0
            self.link.send(0, ("hello", greeting("plant", self._opened, self.being)))
        for frame in self.link.receive():
            self._hear(frame)

    def _hear(self, frame: Frame) -> None:
        if frame.name == "hello":
            if number(frame.values, "opened") == self._opened and self.logic is None:
                reason = refusal(frame, "plant", self.being.tick_s)
                if reason:
                    raise Refused(reason)
                self.logic, self.link.session = frame.values, self._opened
                self.left = False
        elif frame.name == "refuse" and frame.session in (0, self.link.session):
            raise Refused(str(frame.values["reason"]))
        elif self.logic is None or frame.session != self.link.session:
            return
        elif frame.name == "done":
            if frame.values["count"] == self._restarts:
                self._done = int(frame.values["digest"])
        elif frame.name == "bye":
            if self.last is not None and self.last.fire == NO:
                self.left, self.logic = True, None
        elif frame.name == "silent":
            self.silent = frame.values
        elif frame.tick != self._tick:
            return
        elif frame.name == "commands":
            self._commands = commands_of(frame.values)
            self.odd += self._commands is None
        elif frame.name == "decided":
            self._told = self.last = Told(*(int(frame.values[name]) for name in Told._fields))
        elif frame.name == "again":
            self._send(int(frame.values["parts"]))

    # ---- ticks --------------------------------------------------------------------------

    def begin(self, tick: int, raw: dict[str, Value], requests: Requests) -> None:
        """Send a tick. Raises LinkLost."""
        values = dict(raw)
        values.update({name: 1 for name, held in requests._asdict().items() if held})
        parts = [
            (name, {key: values[key] for key in keys if key in values}) for name, keys in SPLIT
        ]
        self._expect(tick, parts)

    def answer(self, within_s: float) -> Answer | None:
        """The answer to the last tick, or None when the time is over. Raises LinkLost, Refused."""
        until_s = time.monotonic() + within_s
        again_s = time.monotonic() + AGAIN_S
        while self._commands is None or self._told is None:
            now_s = time.monotonic()
            if now_s >= until_s:
                return None
            if now_s >= again_s and self.logic is not None:
                self.sent_again += 1
                again_s = now_s + AGAIN_S
                self._send()
            self.attend()
        return Answer(self._commands, self._told)

    def exchange(
        self, tick: int, raw: dict[str, Value], requests: Requests, within_s: float
    ) -> Answer:
        """A tick and its answer, however long both take.

        Raises LinkLost where no answer came in time, Refused.
        """
        self.begin(tick, raw, requests)
        answer = self.answer(within_s)
        if answer is None:
            raise LinkLost(f"tick {tick} was not answered within {within_s:g} s")
        return answer

    # ---- on the bench -------------------------------------------------------------------

    def set_state(self, state: State, within_s: float) -> int:
        """Make the logic go on from a state, before the first tick; gives the digest of its own.

        Raises LinkLost, Refused.
        """
        floats, wholes = (iter(row) for row in flat(state))
        values: Values = {
            name: next(floats) if kind is float else next(wholes) for name, kind in FIELDS
        }
        parts = [(part.name, {key: values[key] for key in part.by_name}) for part in MEMORY]
        return self._acknowledged(parts, within_s)

    def restart(self, within_s: float) -> int:
        """Make the logic restart; gives the digest of its state. Raises LinkLost, Refused."""
        self._restarts += 1
        return self._acknowledged([("restart", {"count": self._restarts})], within_s)

    def _acknowledged(self, parts: list[tuple[str, Values]], within_s: float) -> int:
        self._done = None
        self._expect(0, parts)
        until_s = time.monotonic() + within_s
        again_s = time.monotonic() + AGAIN_S
        while (done := self._heard_done()) is None:
            now_s = time.monotonic()
            if now_s >= until_s:
                raise LinkLost(f"{parts[0][0]} was not answered within {within_s:g} s")
            if now_s >= again_s:
                again_s = now_s + AGAIN_S
                self._send()
            self.attend()
        return done

    def _heard_done(self) -> int | None:
        return self._done

    def _expect(self, tick: int, parts: list[tuple[str, Values]]) -> None:
        self._tick, self._parts = tick, parts
        self._commands, self._told = None, None
        if self.logic is not None:
            self._send()

    def _send(self, mask: int = -1) -> None:
        lines = [line for place, line in enumerate(self._parts) if mask >> place & 1]
        self.link.send(self._tick or 0, *lines)
