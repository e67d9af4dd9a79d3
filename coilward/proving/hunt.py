"""The search for the night that comes nearest to harm.

First one sharp night a fault and phase, those first of which most is promised. Then cma pulls
the ends of the most promising ones, a generation at a time, always where the least margin is or
may still be. It stops at the first violation of something that is promised.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np

from coilward.proving.case import DIMENSIONS, Case, draw, place
from coilward.proving.outcome import Outcome
from coilward.proving.stage import Stage
from coilward.proving.sweeping import NEVER_THERE, sharp_cases

with warnings.catch_warnings():
    # It misses a plotting library, which nothing here needs.
    warnings.simplefilter("ignore")
    import cma

Weighed = Callable[[Case], "Tried"]
Progress = Callable[[float], None]

INVALID: Final = 20.0
"""Worth of a night that showed nothing: worse than any that did."""
KEPT: Final = 0.5
"""Worth of a deadline that was just kept: a row may use all of its time, and many do, so what
the plant itself comes near to is told first."""
POPULATION: Final = 8
WIDTH: Final = 0.3
MOST_ARMS: Final = 12
SWEPT_SHARE: Final = 0.5
"""Of all runs, at the most, go into the first sweep."""
BOLDNESS: Final = 0.4
"""How much margin an arm that was hardly tried is given on credit."""


class Tried(NamedTuple):
    """One night that was played."""

    case: Case
    outcome: Outcome
    least: float
    """The smallest normalised margin of what counts; under 0 it escaped."""
    what: str
    """Which one that was; empty for a night that showed nothing."""


class Astray(NamedTuple):
    """The board stood in one phase where it ought to have been in another."""

    phase: str
    stood: str


@dataclass(frozen=True)
class Found:
    """What a hunt brings home."""

    worst: Tried | None
    """None where no night was valid."""
    runs: int
    invalid: int
    """Of these, nights in which a fault did not act or the board was not in the phase."""
    astray: Astray | None = None
    """A phase in which the board never was when it should have been."""

    @property
    def escaped(self) -> bool:
        """Whether something that is promised was violated."""
        violated = self.worst is not None and self.worst.outcome.escaped
        return violated or self.astray is not None


def weigh(case: Case, outcome: Outcome, counted: frozenset[str]) -> Tried:
    """The least margin of a night, of the requirements that count and of the deadline."""
    if not outcome.fired:
        return Tried(case, outcome, INVALID, "")
    margins = {
        name: value for name, value in outcome.robustness.items()
        if name in counted and (value >= 0.0 or name in outcome.missed)
    }
    if outcome.deadline_s:
        told_s = outcome.deadline_s if outcome.caught_s is None else outcome.caught_s
        left = max(1.0 - told_s / outcome.deadline_s, 0.0)
        margins["deadline"] = -1.0 if "deadline" in outcome.missed else KEPT + left
    for name in outcome.missed:
        margins.setdefault(name, -1.0)
    if not margins:
        return Tried(case, outcome, INVALID, "")
    what = min(margins, key=lambda name: margins[name])
    return Tried(case, outcome, margins[what], what)


class Arm:
    """One fault in one phase, with what cma knows of it."""

    def __init__(self, case: Case, first: Tried, seed: int) -> None:
        """``first`` is the night that made it promising; the search begins there."""
        self.case, self.best, self.pulls = case, first, 0
        self._random = np.random.default_rng(seed)
        self._start = [_within(each) for each in draw(first.case)]
        self._search = self._begun()

    def _begun(self) -> Any:
        return cma.CMAEvolutionStrategy(
            self._start, WIDTH,
            {
                "bounds": [0.0, 1.0], "popsize": POPULATION, "verbose": -9, "seed": math.nan,
                "randn": lambda *shape: self._random.standard_normal(shape),
            },
        )  # fmt: skip

    def pull(self, play: Weighed, most: int) -> Iterator[Tried]:
        """One generation, or as much of it as may still be run."""
        if self._search.stop():
            self._start = list(self._random.uniform(0.1, 0.9, DIMENSIONS))
            self._search = self._begun()
        asked = self._search.ask()
        told = []
        for each in asked[:most]:
            tried = play(place(self.case, each))
            told.append(tried.least)
            if tried.least < self.best.least:
                self.best = tried
            yield tried
        self.pulls += 1
        if len(told) == len(asked):
            self._search.tell(asked, told)

    def hope(self, pulls: int) -> float:
        """The margin that it may still come to: what it has, less credit for being untried."""
        return self.best.least - BOLDNESS * math.sqrt(math.log(2 + pulls) / (1 + self.pulls))


class Search:
    """One hunt; `found` is right at any time."""

    def __init__(
        self, weighed: Weighed, runs: int, progress: Progress | None = None
    ) -> None:
        """``weighed`` plays a case and weighs it; ``runs`` is the budget."""
        self._weighed, self._most, self._progress = weighed, runs, progress
        self._worst: Tried | None = None
        self._astray: Astray | None = None
        self._runs = self._invalid = 0

    @property
    def found(self) -> Found:
        """What there is by now."""
        return Found(self._worst, self._runs, self._invalid, self._astray)

    @property
    def over(self) -> bool:
        """Whether the runs are used up, or something escaped."""
        return self._runs >= self._most or self.found.escaped

    def try_case(self, case: Case) -> Tried:
        """One night."""
        tried = self._weighed(case)
        self._runs += 1
        if not tried.outcome.fired:
            self._invalid += 1
        elif tried.what and (self._worst is None or tried.least < self._worst.least):
            self._worst = tried
        if self._progress is not None:
            self._progress(self._runs / self._most)
        return tried

    def sweep(self, cases: Iterable[tuple[str, Case]]) -> list[Tried]:
        """One night a case, until something escapes or the sweep's share is used up.

        Each case comes with its phase. Where the board was in another one in all of a few first
        nights, that is what was found: it can't be judged where it never is.
        """
        most = max(1, int(SWEPT_SHARE * self._most))
        swept: list[Tried] = []
        missed: dict[str, int] = {}
        for phase, case in cases:
            if self.over or self._runs >= most:
                break
            swept.append(self.try_case(case))
            stood = swept[-1].outcome.phase
            missed[phase] = -most if stood in ("", phase) else missed.get(phase, 0) + 1
            if missed[phase] >= NEVER_THERE:
                self._astray = Astray(phase, stood)
        return swept

    def pull(self, swept: Sequence[Tried], seed: int) -> None:
        """Cma on the most promising, until something escapes or the runs are used up."""
        hopeful = sorted((tried for tried in swept if tried.what), key=lambda each: each.least)
        firsts: dict[tuple[tuple[str, ...], int], Tried] = {}
        for tried in hopeful:
            firsts.setdefault((tried.case.faults, tried.case.index), tried)
        arms = [
            Arm(tried.case, tried, seed + number)
            for number, tried in enumerate(list(firsts.values())[:MOST_ARMS])
        ]
        pulls = 0
        while arms and not self.over:
            arm = min(arms, key=lambda each: each.hope(pulls))
            pulls += 1
            for _ in arm.pull(self.try_case, self._most - self._runs):
                if self.found.escaped:
                    return


def hunt(
    stage: Stage, *, runs: int, seed: int, faults: Sequence[str] | None = None,
    progress: Progress | None = None,
) -> Found:
    """The night with the least margin, among all faults of the catalogue or the named ones.

    The same stage, runs and seed find the same. ``progress`` takes a share from 0 to 1.
    """
    search = Search(weighed_on(stage), runs, progress)
    search.pull(search.sweep(sharp_cases(stage, faults, seed)), seed)
    return search.found


def weighed_on(stage: Stage) -> Weighed:
    """Plays and weighs cases on one loop."""
    return lambda case: weigh(case, stage.play(case), stage.counted(case.faults))


def _within(number: float) -> float:
    """Not on the edge, where cma's bounds leave no room to look around."""
    return min(max(number, 0.02), 0.98)
