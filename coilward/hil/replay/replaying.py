"""A session of a journal decided again, tick by tick, and held against what it says."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.constants import Constants
from coilward.controller.state import State
from coilward.controller.types import Commands
from coilward.hil.journal.layout import MEMORY, Words, as_numbers, block
from coilward.hil.journal.packing import fingerprint
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.session import Session
from coilward.hil.replay.changes import Change, changes_in, commands_differ, differing
from coilward.hil.replay.redecider import OUTCOME, READINGS, Redecider
from coilward.hil.tick import FLOATS, unflat
from coilward.simulator.engine import Engine

Progress = Callable[[float], None]
SLICE_S: Final = 0.05
"""Wall time between two looks at the clock of a paced replay."""
AT_ONCE: Final = 1 << 30
TIME_ROW: Final = READINGS.start
FACT_ROWS: Final = slice(len(MEMORY), OUTCOME)
Numbers = NDArray[Any]
Times = NDArray[Any]


class Difference(NamedTuple):
    """The first tick in which something isn't what the journal says."""

    number: int
    time_s: float
    names: tuple[str, ...]
    """Of the numbers that differ, the first of the tick first."""
    logged: float
    """The first of them as it stands in the journal."""
    now: float


class Parting(NamedTuple):
    """The tick at which the commands first differ, as it is decided now."""

    number: int
    time_s: float
    state: State
    """After it."""
    commands: Commands


@dataclass
class Replayed:
    """What became of a session."""

    session: Session
    engine: str
    first: int
    last: int
    ticks: int = 0
    """That were decided again."""
    taken: list[int] = field(default_factory=list)
    """Ticks whose state had to be taken from the journal, since those before them are missing."""
    differs: Difference | None = None
    acts: Difference | None = None
    """The first tick in which an output is told another thing: what the thermometers say from
    there on is what the old commands made of the loop."""
    parts: Parting | None = None
    """The same tick as it is decided now."""
    logged: list[Change] = field(default_factory=list)
    now: list[Change] = field(default_factory=list)
    lasted_s: float = 0.0

    @property
    def x_real_time(self) -> float:
        """How many times faster than the clock."""
        return self.ticks * self.session.tick_s / max(self.lasted_s, 1e-9)


class _Part(NamedTuple):
    """Some ticks in a row, and what is needed to hold them against the journal."""

    inputs: Words
    hash: bytes | None
    outcome: Callable[[], Words]
    """Memory and facts as they were written; unpacked only where they are wanted."""


class NoSuchTicks(ValueError):  # noqa: N818 - said of what was asked for
    """A range without a single tick that can be decided again."""


def replay(
    reader: Reader, session: Session, constants: Constants, *, first: int | None = None,
    last: int | None = None, engine: Engine = "auto", speed: float | None = None,
    progress: Progress | None = None,
) -> Replayed:  # fmt: skip
    """Decide a session again, all of it or a range of ticks, with these constants.

    ``speed`` holds the replay back to so many times the clock; None is as fast as it goes.
    Raises NoSuchTicks where nothing of the range is there in full, ValueError for ticks of
    another version of the program, Damaged where the journal is, InputRefused as `Reader`.
    """
    if not session.layout.is_ours():
        raise ValueError("these ticks were written by another version of the program")
    span = reader.span(session)
    low = max(first or 0, span[0]) if span else 0
    high = min(AT_ONCE if last is None else last, span[1]) if span else -1
    if low > high:
        raise NoSuchTicks("there are no such ticks")
    work = _Work(reader, session, Redecider(constants, engine), low, high, speed, progress)
    return work.run()


class _Work:
    """One replay on its way."""

    def __init__(
        self, reader: Reader, session: Session, redecider: Redecider, low: int, high: int,
        speed: float | None, progress: Progress | None,
    ) -> None:  # fmt: skip
        self.reader, self.session, self.redecider = reader, session, redecider
        self.low, self.high, self.progress, self.speed = low, high, progress, speed
        self.slice = AT_ONCE
        if speed is not None:
            self.slice = max(1, round(speed * SLICE_S / session.tick_s))
        self.found = Replayed(session, redecider.engine, low, high)
        self.origins = reader.origins(session)
        self.state = reader.state_at(session, low - 1) if low > 0 else None
        self.next = low
        self.began_s = time.perf_counter()

    def run(self) -> Replayed:
        """All parts, one after the other."""
        for part in self._parts():
            self._part(part)
            if self.progress is not None:
                self.progress((self.next - self.low) / (self.high - self.low + 1))
        if self.found.ticks == 0:
            raise NoSuchTicks("none of these ticks is there in full: they were thinned")
        self.found.lasted_s = time.perf_counter() - self.began_s
        return self.found

    def _parts(self) -> Iterator[_Part]:
        layout, low, high = self.session.layout, self.low, self.high
        inputs_rows = len(layout.inputs)
        firsts, rows = self.reader.outline(self.session, low, high)
        for chunk in (
            chunk for first in firsts for chunk in self.reader.chunks(self.session, first, first)
        ):
            if chunk.memory is None:
                continue
            inputs = chunk.inputs_of(layout)
            numbers = inputs[0].view(np.int64)
            begin, end = np.searchsorted(numbers, [low, high + 1])
            if begin == 0 and end == chunk.ticks:
                yield _Part(inputs, chunk.hash, partial(chunk.outcome_of, layout))
            else:
                outcome = chunk.outcome_of(layout)[:, begin:end]
                yield _Part(inputs[:, begin:end], None, partial(_as_it_is, outcome))
        if rows:
            words = block(rows)
            yield _Part(words[:inputs_rows], None, partial(_as_it_is, words[inputs_rows:]))

    def _part(self, part: _Part) -> None:
        inputs, found = part.inputs, self.found
        numbers: Numbers = inputs[0].view(np.int64)
        times_s: Times = inputs[TIME_ROW].view(np.float64)
        outcome: Words = np.empty((OUTCOME, len(numbers)), np.uint64)
        for at, end in pairwise(self._stretches(numbers)):
            self._stretch(part, int(numbers[at]), outcome, at, end)
            self.next = int(numbers[end - 1]) + 1
        found.ticks += len(numbers)
        before = found.now[-1] if found.now else None
        new = changes_in(outcome[FACT_ROWS], numbers, times_s, before)
        alike = (found.logged[-1] if found.logged else None) == before
        found.now += new
        if alike and part.hash is not None and fingerprint(inputs, outcome) == part.hash:
            found.logged += new
            return
        logged = part.outcome()
        before = found.logged[-1] if found.logged else None
        found.logged += changes_in(logged[FACT_ROWS], numbers, times_s, before)
        self._compare(logged, outcome, numbers, times_s)

    def _stretches(self, numbers: Numbers) -> list[int]:
        """Where ticks begin that don't follow from the one before them, and the end."""
        gaps = (np.flatnonzero(np.diff(numbers) != 1) + 1).tolist()
        told = [at for number in self.origins if number in range(numbers[0], numbers[-1] + 1)
                for at in np.flatnonzero(numbers == number).tolist()]  # fmt: skip
        return sorted({0, *gaps, *told, len(numbers)})

    def _stretch(self, part: _Part, number: int, outcome: Words, at: int, end: int) -> None:
        """Ticks that follow from each other; the first from what is known to be before it."""
        state = self.origins.get(number, self.state if number == self.next else None)
        if state is None:
            # What was remembered before it is lost: the tick is believed, and the next decided.
            logged = part.outcome()
            outcome[:, at] = logged[:, at]
            state, at = _state_of(logged, at), at + 1
            self.found.taken.append(number)
        self._decide(part.inputs, outcome, at, end, state)

    def _decide(self, inputs: Words, outcome: Words, at: int, end: int, state: State) -> None:
        while at < end:
            until = min(end, at + self.slice)
            state = self.redecider.decide(inputs, outcome, at, until, state)
            if self.speed is not None:
                self._wait(int(inputs[0, until - 1]) + 1 - self.low)
            at = until
        self.state = state

    def _wait(self, done: int) -> None:
        due_s = self.began_s + done * self.session.tick_s / (self.speed or 1.0)
        time.sleep(max(0.0, due_s - time.perf_counter()))

    def _compare(self, logged: Words, now: Words, numbers: Numbers, times_s: Times) -> None:
        if self.found.differs is None:
            other = np.flatnonzero((logged != now).any(axis=0))
            self.found.differs = _difference(logged, now, other, numbers, times_s)
        if self.found.acts is None:
            other = np.flatnonzero(commands_differ(logged[FACT_ROWS], now[FACT_ROWS]))
            self.found.acts = _difference(logged, now, other, numbers, times_s)
            if self.found.acts is not None:
                at = int(other[0])
                self.found.parts = Parting(
                    self.found.acts.number, self.found.acts.time_s, _state_of(now, at),
                    _commands_of(now, at),
                )


def _difference(
    logged: Words, now: Words, where: Numbers, numbers: Numbers, times_s: Times
) -> Difference | None:
    if len(where) == 0:
        return None
    at = int(where[0])
    names = tuple(differing(logged, now, at))
    place = int(np.flatnonzero(logged[:, at] != now[:, at])[0])
    values = [float(as_numbers(names[0], words[place])[at]) for words in (logged, now)]
    return Difference(int(numbers[at]), float(times_s[at]), names, *values)


def _as_it_is(outcome: Words) -> Words:
    return outcome


def _state_of(outcome: Words, at: int) -> State:
    """The state after a tick of a block."""
    floats = outcome[: len(FLOATS), at].copy().view(np.float64).tolist()
    wholes = outcome[len(FLOATS) + 2 : -5, at].copy().view(np.int64).tolist()
    return unflat(floats, wholes)


def _commands_of(outcome: Words, at: int) -> Commands:
    """The commands of a tick of a block."""
    valve, fans = outcome[len(FLOATS) : len(FLOATS) + 2, at].copy().view(np.float64).tolist()
    pump, damper_open, dump_open, horn, may_light = (
        outcome[-5:, at].copy().view(np.int64).tolist()
    )
    return Commands(
        bool(pump), valve, fans, bool(damper_open), bool(dump_open), horn, bool(may_light)
    )
