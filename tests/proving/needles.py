"""Nights whose margin is a formula of their numbers: what a search ought to find is known."""

from __future__ import annotations

import math

from coilward.proving.case import draw
from coilward.proving.hunt import weigh
from coilward.proving.outcome import Outcome

COUNTED = frozenset({"kept"})


def outcome(case, margin, *, fired=True, counted="kept", caught_s=None, deadline_s=None, more=()):
    missed = (*((counted,) if margin < 0.0 and counted in COUNTED else ()), *more)
    return Outcome(
        key=case.key, phase="run", fired=fired, caught="", caught_s=caught_s,
        deadline_s=deadline_s, first_boil_s=None, margin_k=20.0, margin_s=60.0,
        peak_joint_c=80.0, robustness={counted: margin}, missed=missed, ended_phase="run",
        size=None, onset_s=60.0,
    )  # fmt: skip


def well(depth, width, *, faults=("pump-weak",), where=0.8, numbers=(0, 1, 4)):
    """A margin of 1 that falls to ``-depth`` around one place, and nowhere for other faults."""

    def play(case):
        if case.faults[0] not in faults:
            return outcome(case, 1.5)
        u = draw(case)
        far = math.sqrt(sum((u[number] - where) ** 2 for number in numbers))
        return outcome(case, min(1.0, far / width) * (1.0 + depth) - depth)

    return play


def weighed(play):
    return lambda case: weigh(case, play(case), COUNTED)
