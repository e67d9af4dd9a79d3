"""From a loop to settings for its valve: measured, reckoned, tried, and held against the present.

Skogestad's rule is taken as tight as it goes; where the settings break a promise, the closed loop
is asked to be slower, until they keep all of them or none is left; then the same with the dead band
that the loop has now.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from coilward.controller.constants import Constants, constants_for
from coilward.loop.derived import Derived, derive
from coilward.loop.model import Loop, Throttle
from coilward.simulator.engine import Engine
from coilward.simulator.tolerances import TOLERANCES
from coilward.tuning.checks import Check, against_fixed, at_most, ending_well, robust, surging
from coilward.tuning.corners import Answering, worst_corner
from coilward.tuning.fires import fires
from coilward.tuning.margins import Margins
from coilward.tuning.scheduling import dead_band_k, scheduled
from coilward.tuning.trials import NIGHTS, Ending, Trial, bench_for, ending, surge
from coilward.tuning.working import Answer, Identified, answer, identify, places, robustness

Numbers = NDArray[np.float64]
Progress = Callable[[float], None]

SLOWER: Final = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0)
"""Closed loop's time constant over the delay, in the order in which they are tried."""
NO_WORSE: Final = 1.0 + 1e-6


@dataclass(frozen=True)
class Measured:
    """The valve loop over its range, whatever its settings."""

    answers: list[Answer]
    found: list[Identified]


@dataclass(frozen=True)
class Judged:
    """Some settings, and everything that was seen of them."""

    settings: Throttle
    margins: list[Margins]
    """At each place, as built."""
    cornered: list[Margins]
    """At each place, in the worst corner of the tolerances."""
    corner: dict[str, float]
    """Tolerances off in that corner: -1 or 1."""
    trials: list[Trial]
    endings: list[Ending]
    against_fixed: Numbers
    """Integrated error at each place over that of fixed gains."""


@dataclass(frozen=True)
class Tuned:
    """What a tuning has found."""

    loop: Loop
    derived: Derived
    constants: Constants
    seed: int
    measured: Measured
    present: Judged
    proposed: Judged | None
    """None where no settings keep every promise: the present ones stay."""
    slower: float
    """Closed loop's time constant over the delay, of the proposal or of the last that failed."""
    checks: list[Check]
    """Of the proposal, or of the last settings that failed."""


def measure(loop: Loop, derived: Derived, constants: Constants, seed: int) -> Measured:
    """Step and relay tests over the whole range."""
    every = places(loop, derived)
    return Measured(
        [answer(loop, derived, constants, place) for place in every],
        [
            identify(loop, derived, constants, place, seed + number)
            for number, place in enumerate(every)
        ],
    )


class Tuner:
    """One loop on the bench."""

    def __init__(self, loop: Loop, today: date, engine: Engine, seed: int) -> None:
        self.loop, self.today, self.engine, self.seed = loop, today, engine, seed
        self.derived = derive(loop, today)
        self.constants = constants_for(loop, self.derived)
        self.measured = measure(loop, self.derived, self.constants, seed)
        self.answering: Answering = cache(
            lambda place, corner: answer(loop, self.derived, self.constants, place, corner)
        )

    def margins(self, settings: Throttle, answers: Sequence[Answer]) -> list[Margins]:
        """Robustness of settings at each place."""
        return [robustness(each, settings, self.constants) for each in answers]

    def cornered(self, settings: Throttle) -> tuple[dict[str, float], list[Margins]]:
        """The worst corner of the tolerances, and robustness at each place in it."""
        answers = self.measured.answers
        margins = self.margins(settings, answers)
        worst = max(range(len(margins)), key=lambda each: margins[each].sensitivity)
        corner = worst_corner(self.answering, self.constants, settings, answers[worst].place)
        off = [self.answering(each.place, corner) for each in answers]
        named = {row.name: side for row, side in zip(TOLERANCES, corner, strict=True) if side}
        return named, self.margins(settings, off)

    def judged(self, settings: Throttle) -> Judged:
        """Everything about some settings."""
        corner, cornered = self.cornered(settings)
        bench = bench_for(self.loop, settings, self.today, self.engine)
        return Judged(
            settings=settings,
            margins=self.margins(settings, self.measured.answers),
            cornered=cornered,
            corner=corner,
            trials=[surge(bench, fire, self.seed) for fire in fires(self.loop, self.derived)],
            endings=[ending(bench, name, self.seed) for name in NIGHTS],
            against_fixed=against_fixed(self.measured.answers, settings, self.constants),
        )

    def robust(self, settings: Throttle) -> bool:
        """Whether it is worth while to try the settings on the whole machine."""
        margins = self.margins(settings, self.measured.answers)
        return all(check.held for check in robust(margins, self.cornered(settings)[1]))

    def checks(self, present: Judged, wanted: Judged) -> list[Check]:
        """Every promise of the settings."""
        was = present.settings
        return [
            *robust(wanted.margins, wanted.cornered),
            at_most("fixed-gains", float(wanted.against_fixed.max()), NO_WORSE),
            *surging(present.trials, wanted.trials, self.derived, was),
            *ending_well(present.endings, wanted.endings, self.constants, was),
        ]


def tune(
    loop: Loop, *, today: date, engine: Engine = "auto", seed: int = 1,
    progress: Progress | None = None,
) -> Tuned:  # fmt: skip
    """Measure a loop and propose settings for its valve.

    The same loop, seed and day give the same answer, in either engine. ``progress`` is called
    with a share from 0 to 1. Raises ValueError for a loop whose valve is always open.
    """
    if loop.room.kind == "tub":
        raise ValueError("the valve of a tub is always open")
    show = progress or (lambda _: None)
    tuner = Tuner(loop, today, engine, seed)
    show(0.2)
    present = tuner.judged(loop.throttle)
    proposed, slower, checks = None, SLOWER[0], []
    wide_k = max(dead_band_k(loop), loop.throttle.dead_band_k)
    tries = list(product((None, wide_k), SLOWER))
    for number, (band_k, slower) in enumerate(tries):
        show(0.5 + 0.5 * number / len(tries))
        settings = scheduled(loop, tuner.constants, tuner.measured.found, slower, band_k)
        if slower < SLOWER[-1] and not tuner.robust(settings):
            continue
        wanted = tuner.judged(settings)
        checks = tuner.checks(present, wanted)
        if all(check.held for check in checks):
            proposed = wanted
            break
    return Tuned(
        loop, tuner.derived, tuner.constants, seed, tuner.measured, present, proposed, slower,
        checks,
    )  # fmt: skip
