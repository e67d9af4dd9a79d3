"""A logic at the other end of a wire, in the place of ours in a night's closed loop."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import NamedTuple

from coilward.controller.constants import Constants
from coilward.controller.decide import Decision, decide
from coilward.controller.state import State, after_reboot
from coilward.controller.types import Commands, Readings, Requests
from coilward.hil.converting import Converter
from coilward.hil.logic_side import NOTHING
from coilward.hil.plant_side import Answer, PlantSide
from coilward.hil.tick import digest
from coilward.simulator.logic import Logic

LOCKSTEP_S = 10.0
"""A logic in lockstep that says nothing for this long is gone."""
KEPT = 20
"""Differences that are kept in words."""


class Difference(NamedTuple):
    """One tick at which the far logic and the reference did not agree."""

    tick: int
    words: str


class Hash:
    """One hash over what was decided, tick by tick."""

    def __init__(self) -> None:
        """Of nothing yet."""
        self._sha = hashlib.sha256()
        self.ticks = 0

    def add(self, digested: int) -> None:
        """The next tick's digest."""
        self._sha.update(digested.to_bytes(4, "little"))
        self.ticks += 1

    def told(self) -> str:
        """Sixteen hexadecimal digits."""
        return self._sha.hexdigest()[:16]


class Compared:
    """Plays a plant to a far logic and holds every answer against the reference."""

    def __init__(
        self, side: PlantSide, convert: Converter, pulses: Callable[[], int] | None = None,
        within_s: float = LOCKSTEP_S,
    ) -> None:  # fmt: skip
        """``pulses`` counts the meter's pulses so far; an answer has ``within_s``."""
        self.side, self.convert = side, convert
        self.pulses = pulses or (lambda: 0)
        self.far, self.reference = Hash(), Hash()
        self.differences: list[Difference] = []
        self.differing = 0
        """Ticks at which they did not agree; only the first few are kept in words."""
        self.expected = NOTHING
        """What the reference told the outputs at the last tick."""
        self.within_s = within_s
        self.tick = 0
        """Counted here: a plant's clock may jump, a tick's number never does."""

    def decide(
        self, readings: Readings, requests: Requests, state: State, constants: Constants
    ) -> Decision:
        """The far logic's commands, and the reference's state."""
        self.tick += 1
        raw = self.convert.raw(readings, self.pulses())
        answer = self.side.exchange(self.tick, raw, requests, self.within_s)
        expected = decide(self.convert.readings(raw), requests, state, constants)
        self.expected = expected.commands
        self._hold(answer, expected)
        return Decision(expected.state, answer.commands)

    def rebooted(self, state: State) -> State:
        """Restart the far logic, and the reference with it."""
        again = after_reboot(state)
        if self.side.restart(self.within_s) != digest(again, NOTHING):
            self._differ("what it remembers after a restart")
        return again

    def logic(self, name: str) -> Logic:
        """What a night needs to know of it."""
        return Logic(name=name, digest="", decide=self.decide, rebooted=self.rebooted)

    def _hold(self, answer: Answer, expected: Decision) -> None:
        wanted = digest(*expected)
        self.far.add(answer.told.digest)
        self.reference.add(wanted)
        if answer.told.digest != wanted or answer.commands != expected.commands:
            self._differ(words_of(answer, expected))

    def _differ(self, words: str) -> None:
        self.differing += 1
        if len(self.differences) < KEPT:
            self.differences.append(Difference(self.tick, words))


def words_of(answer: Answer, expected: Decision) -> str:
    """In what an answer differs from what was expected."""
    told, state = answer.told, expected.state
    pairs: list[tuple[str, float, float]] = [
        (name, getattr(answer.commands, name), getattr(expected.commands, name))
        for name in Commands._fields
    ]
    pairs += [
        ("phase", told.phase, state.mode.phase), ("fire", told.fire, state.mode.fire),
        ("coil", told.coil, state.mode.coil), ("raised", told.raised, state.raised),
        ("latched", told.latched, state.mode.latched),
        ("first_out", told.first_out, state.mode.first_out),
    ]  # fmt: skip
    differ = [f"{name} {_shown(a)} for {_shown(b)}" for name, a, b in pairs if a != b]
    return ", ".join(differ) or "something that it remembers"


def _shown(value: float) -> str:
    return f"{value:g}" if isinstance(value, float) else str(int(value))


def near_logic(convert: Converter, kept: Hash) -> Logic:
    """Our logic behind the same conversions as on a wire, but without the wire."""

    def through(
        readings: Readings, requests: Requests, state: State, constants: Constants
    ) -> Decision:
        decision = decide(convert.readings(convert.raw(readings)), requests, state, constants)
        kept.add(digest(*decision))
        return decision

    return Logic(name="without a wire", digest="", decide=through)
