"""A session of a journal decided again, tick by tick, and held against what was logged."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.constants import Constants
from coilward.controller.state import State
from coilward.controller.types import Readings
from coilward.hil.journal.opening import refused
from coilward.hil.journal.packing import Words, tick_of
from coilward.hil.journal.reader import LAST, Kept, Reader
from coilward.hil.journal.schema import FLOAT_NAMES, WHOLE_NAMES
from coilward.hil.replay.deciding import Decided, Decider, chosen
from coilward.hil.replay.events import Course, Event
from coilward.hil.tick import FLOATS, WHOLES
from coilward.simulator.engine import Engine

READINGS: Final = len(Readings._fields)
_BASE: Final = len(FLOAT_NAMES)
NUMBER, REQUESTS = _BASE, _BASE + 1
_VALVE_FANS: Final = slice(READINGS, READINGS + 2)
_STATE_FLOATS: Final = slice(_BASE - len(FLOATS), _BASE)
_SWITCHES: Final = slice(_BASE + 3, _BASE + 8)
_STATE_WHOLES: Final = slice(_BASE + 9, _BASE + 9 + len(WHOLES))
NAMES: Final = (
    *FLOAT_NAMES[_VALVE_FANS], *WHOLE_NAMES[3:8], *FLOATS, *WHOLES,
)  # fmt: skip
"""What is compared, in the order of `Decided`."""
_COMMANDS: Final = 7


class Odd(NamedTuple):
    """A number that was decided otherwise than it was logged."""

    name: str
    logged: float
    decided: float


class Difference(NamedTuple):
    """The first tick at which anything differs, and everything that does there."""

    number: int
    time_s: float
    odd: tuple[Odd, ...]


@dataclass
class Replayed:
    """One session decided again."""

    session: Kept
    engine: str
    ticks: int = 0
    """Decided again."""
    thinned: int = 0
    """Ticks of thinned chunks, which can't be: their neighbours are gone."""
    gaps: int = 0
    """Breaks after which the logged memory was taken up again."""
    first: Difference | None = None
    differing: int = 0
    """Ticks of which any number differs."""
    acts: Difference | None = None
    """The first tick whose commands differ: from there on the plant would have gone elsewhere."""
    logged: Course = field(default_factory=Course)
    decided: Course = field(default_factory=Course)
    from_s: float = np.nan
    to_s: float = np.nan
    """Times of the first and the last tick that was decided."""
    lasted_s: float = 0.0
    """How long it took."""

    @property
    def x_real_time(self) -> float:
        """How many times faster than the night."""
        return self.ticks * self.session.tick_s / max(self.lasted_s, 1e-9)


class Watching(NamedTuple):
    """How a replay is followed while it runs."""

    tell: Callable[[str, Event], None] | None = None
    """Takes "logged" or "decided" and the event."""
    speed: float = 0.0
    """Times the clock; 0 as fast as it goes."""


def replay(
    reader: Reader, session: Kept, constants: Constants, *, engine: Engine = "auto",
    since: int = 0, until: int = LAST, watching: Watching | None = None,
) -> Replayed:  # fmt: skip
    """Decides a session again with these constants, from tick ``since`` to ``until``, both in.

    Raises InputRefused where another version of the program wrote it, or the journal is damaged.
    """
    if not reader.layout(session.id).is_ours:
        raise refused(reader.path, f"session {session.id} was written by a version of coilward "
                      "that remembers other numbers", "a session of this version, or its export "
                      "as CSV")  # fmt: skip
    watching = watching or Watching()
    decider = Decider(constants, chosen(engine, min(session.ticks, until - since)))
    done = Replayed(session, decider.engine)
    decider.state = _start(reader, session, since)
    if decider.state is not None:
        _begin(done, decider.state)
    expected = since
    began_s = time.perf_counter()
    for words in _stretches(reader, session.id, since, until, done):
        first = int(words[NUMBER, 0])
        if decider.state is None or first != expected:
            done.gaps += expected > since
            found = tick_of(np.ascontiguousarray(words[:, 0]).tobytes())
            decider.state = found.state
            _begin(done, decider.state)
            words = words[:, 1:]
        expected = first + words.shape[1] + (first != int(words[NUMBER, 0]) if words.size else 1)
        for block in _blocks(words, session.tick_s, watching.speed):
            readings = block[:READINGS].view(np.float64)
            out = decider.decide(readings, block[REQUESTS].view(np.int64))
            _compare(block, out, done)
            _follow(block, out, done, watching)
            if watching.speed > 0.0:
                ahead_s = done.ticks * session.tick_s / watching.speed
                time.sleep(max(0.0, began_s + ahead_s - time.perf_counter()))
    done.lasted_s = time.perf_counter() - began_s
    return done


def _start(reader: Reader, session: Kept, since: int) -> State | None:
    """What the board remembered before the first tick that is wanted; None where not known."""
    if since > 0:
        return reader.state_at(session.id, since - 1)
    return reader.before(session.id) if session.first == 0 else None


def _begin(done: Replayed, state: State) -> None:
    for course in (done.logged, done.decided):
        course.begin(state.raised, state.mode.phase, state.mode.first_out)


def _stretches(
    reader: Reader, session: int, since: int, until: int, done: Replayed
) -> Iterator[Words]:
    """Ticks without a break between them."""
    for part in reader.parts(session, since, until):
        if part.every != 1:
            done.thinned += part.words.shape[1]
            continue
        numbers = part.words[NUMBER].view(np.int64)
        if numbers[-1] - numbers[0] == len(numbers) - 1:
            yield part.words
            continue
        breaks = [0, *(np.flatnonzero(np.diff(numbers) != 1) + 1).tolist(), len(numbers)]
        for begin, end in pairwise(breaks):
            yield part.words[:, begin:end]


def _blocks(words: Words, tick_s: float, speed: float) -> Iterator[Words]:
    """All at once, or at most a quarter of a second of the watcher's time."""
    rows = words.shape[1]
    if speed <= 0.0:
        if rows:
            yield words
        return
    size = max(1, int(0.25 * speed / tick_s))
    for begin in range(0, rows, size):
        yield words[:, begin:begin + size]


def _compare(words: Words, out: Decided, done: Replayed) -> None:
    numbers = words[NUMBER].view(np.int64)
    times_s = words[0].view(np.float64)
    if not done.ticks:
        done.from_s = float(times_s[0])
    done.to_s = float(times_s[-1])
    done.ticks += len(numbers)
    logged = (words[_VALVE_FANS], words[_SWITCHES], words[_STATE_FLOATS], words[_STATE_WHOLES])
    # Nearly always all is alike: one look at the bytes, before anything is looked for.
    if all(np.array_equal(ours, theirs.view(np.uint64))
           for ours, theirs in zip(logged, out, strict=True)):
        return
    odd = np.concatenate([_odd(ours, theirs) for ours, theirs in zip(logged, out, strict=True)])
    wrong = odd.any(axis=0)
    if not wrong.any():
        return
    done.differing += int(wrong.sum())
    pairs = zip(logged, out, strict=True)
    ours = np.concatenate([_numbers(table, theirs) for table, theirs in pairs])
    decided = np.concatenate([table.astype(np.float64) for table in out])

    def told(at: int) -> Difference:
        return Difference(int(numbers[at]), float(times_s[at]), tuple(
            Odd(NAMES[row], float(ours[row, at]), float(decided[row, at]))
            for row in np.flatnonzero(odd[:, at])
        ))  # fmt: skip

    if done.first is None:
        done.first = told(int(np.argmax(wrong)))
    acts = odd[:_COMMANDS].any(axis=0)
    if done.acts is None and acts.any():
        done.acts = told(int(np.argmax(acts)))


def _odd(logged: Words, decided: NDArray[Any]) -> NDArray[np.bool_]:
    """Where the bits differ; one NaN is as good as another."""
    odd: NDArray[np.bool_] = logged != decided.view(np.uint64)
    if decided.dtype == np.float64:
        odd &= ~(np.isnan(logged.view(np.float64)) & np.isnan(decided))
    return odd


def _numbers(logged: Words, decided: NDArray[Any]) -> NDArray[np.float64]:
    found: NDArray[np.float64] = logged.view(decided.dtype).astype(np.float64)
    return found


def _follow(words: Words, out: Decided, done: Replayed, watching: Watching) -> None:
    numbers, times_s = words[NUMBER].view(np.int64), words[0].view(np.float64)
    wholes = words[_STATE_WHOLES].view(np.int64)
    courses = (("logged", done.logged, wholes), ("decided", done.decided, out.wholes))
    for whose, course, table in courses:
        new = course.add(numbers, times_s, *(table[WHOLES.index(name)] for name in (
            "raised", "mode_phase", "mode_first_out"
        )))  # fmt: skip
        if watching.tell is not None:
            for event in new:
                watching.tell(whose, event)
