"""What settings have to keep before they are proposed, each held against a number."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.constants import Constants
from coilward.loop.derived import Derived
from coilward.loop.model import Throttle
from coilward.tuning.fires import SURGE
from coilward.tuning.margins import Margins, answer_to
from coilward.tuning.simc import Pi
from coilward.tuning.trials import SURGE_S, Ending, Trial
from coilward.tuning.working import Answer, rule_at

Numbers = NDArray[np.float64]

MOST_SENSITIVE: Final = 1.7
"""Ms of the rule's own tight answer on a process that integrates (Skogestad 2003)."""
MOST_MOVES_1_H: Final = 60.0


class Check(NamedTuple):
    """One promise of the settings, in numbers."""

    key: str
    held: bool
    value: float
    limit: float
    unit: str
    """As in `coilward.loop.units`; empty for a plain number."""


def at_most(key: str, value: float, limit: float, unit: str = "") -> Check:
    """A check that holds up to its limit."""
    return Check(key, value <= limit, value, limit, unit)


def robust(margins: Sequence[Margins], cornered: Sequence[Margins]) -> list[Check]:
    """Ms everywhere, as built and in the worst corner of the tolerances."""
    return [
        at_most("sensitivity", max(each.sensitivity for each in margins), MOST_SENSITIVE),
        at_most("sensitivity-corner", max(each.sensitivity for each in cornered), MOST_SENSITIVE),
    ]


def surging(
    before: Sequence[Trial], after: Sequence[Trial], derived: Derived, present: Throttle
) -> list[Check]:
    """Surges and steady hours against the limits, and against what the present settings do.

    Where the present settings stand within their dead band is chance: a peak that is higher by
    no more than that is the same. A fire that the clamp or the open valve holds is not
    the rule's to regulate. Errors of steady hours are compared in their mean, because where in its
    dead band a single hour stands is chance too.
    """
    ruled = [pair for pair in zip(before, after, strict=True) if pair[0].regulates]
    errors = [now.surge_k_min / max(was.surge_k_min, 1e-9) for was, now in ruled]
    steady_k = sum(now.steady_k - was.steady_k for was, now in ruled) / max(len(ruled), 1)
    fresh_s = [
        now.clamped_s for was, now in zip(before, after, strict=True) if was.clamped_s == 0.0
    ]
    return [
        at_most("peak", max(each.peak_c for each in after), derived.outlet_dump_c, "c"),
        at_most("peak-before", _hotter(before, after), present.dead_band_k, "k"),
        at_most("moves", max(each.moves_1_h for each in after), MOST_MOVES_1_H),
        at_most("surge-error", max(errors, default=0.0), 1.0),
        at_most("steady-error", steady_k, 0.0, "k"),
        at_most("clamp", max(fresh_s, default=0.0), 0.0, "s"),
        at_most("alarms", _more(before, after), 0.0),
    ]


def ending_well(
    before: Sequence[Ending], after: Sequence[Ending], constants: Constants, present: Throttle
) -> list[Check]:
    """Bad nights: no hotter, no sooner at the boil, no alarm that did not come before.

    The slack is the present dead band, in kelvin and as the seconds in which standing water
    passes it.
    """
    water = constants.water
    slack_s = present.dead_band_k * water.coil_j_k / (water.peak_to_mean * water.heat_nominal_w)
    sooner_s = max(
        was.first_boil_s - now.first_boil_s if math.isfinite(now.first_boil_s) else 0.0
        for was, now in zip(before, after, strict=True)
    )
    return [
        at_most("night-peak", _hotter(before, after), present.dead_band_k, "k"),
        at_most("night-boil", sooner_s, slack_s, "s"),
        at_most("night-alarms", _more(before, after), 0.0),
    ]


def _hotter(before: Sequence[Trial | Ending], after: Sequence[Trial | Ending]) -> float:
    return max(now.peak_c - was.peak_c for was, now in zip(before, after, strict=True))


def _more(before: Sequence[Trial | Ending], after: Sequence[Trial | Ending]) -> float:
    """Alarms that did not come before."""
    pairs = zip(before, after, strict=True)
    return float(sum(len(set(now.causes) - set(was.causes)) for was, now in pairs))


def against_fixed(answers: Sequence[Answer], settings: Throttle, constants: Constants) -> Numbers:
    """Integrated error after a surge at each place, over that of the same rule unscheduled."""
    rules = [rule_at(each, settings, constants) for each in answers]
    fixed = unscheduled(rules)
    return np.array(
        [
            integrated(each, rule, constants) / integrated(each, fixed, constants)
            for each, rule in zip(answers, rules, strict=True)
        ]
    )


def unscheduled(rules: Sequence[Pi]) -> Pi:
    """Fixed gains that are nowhere less robust: the smallest gain of all, and the longest reset."""
    return Pi(min(each.gain for each in rules), max(each.reset_s for each in rules))


def integrated(answered: Answer, pi: Pi, constants: Constants) -> float:
    """Integrated absolute error after the surge of heat, K s, by the sampled answer."""
    rhythm_s = constants.throttling.every_s
    share = answered.step / answered.step[-1]
    moves = int(MOST_RESETS * pi.reset_s / rhythm_s) + 4 * len(share)
    grown = np.minimum(rhythm_s * np.arange(moves) / SURGE_S, 1.0)
    told = np.diff(grown, prepend=0.0)
    heated = np.convolve(told, np.concatenate((share, np.ones(moves))))[:moves]
    disturbance = (SURGE - 1.0) * answered.rise_k * heated
    error = answer_to(disturbance, answered.step, rhythm_s, pi)
    return rhythm_s * float(np.abs(error).sum())


MOST_RESETS: Final = 12.0
"""After so many reset times nothing is left of a surge."""
