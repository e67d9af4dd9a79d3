"""From a loop file and a log to numbers with intervals: the whole of the learning."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date
from typing import Final, NamedTuple

import numpy as np

from coilward.learning.contradictions import (
    check_rows,
    misfit,
    refuse,
    refuse_suspects,
    suspects,
    swapped,
)
from coilward.learning.decay import Decay, decay_of
from coilward.learning.fitting import MOST, ROUNDS, Fit, fit
from coilward.learning.following import UNSURE, Plant
from coilward.learning.heat import Caught, Heat, caught_of, heat_of, largest_w
from coilward.learning.log import Log
from coilward.learning.noise import noisier
from coilward.learning.numbers import TOLD_SHARE, numbers, thermometer
from coilward.learning.stretches import SEEN, stretches
from coilward.loop.derived import derive
from coilward.loop.model import Loop
from coilward.simulator.parameters import parameters

FLOOR_K: Final = 0.02
"""No thermometer of such a loop scatters by less."""
WIDE: Final = 1.96
LEAST_MINUTES: Final = 15
STUCK_SHARE: Final = 0.15
"""A lag under this share of the file's has run into its bound: then no time is told."""
INEXACT: Final = {"radiator.fill": 0.015}
"""Share by which a number may lie off for what the plant leaves out, a standard deviation. Seen on
logs without late rows; some of it comes from a meter that tells of the flow a second late."""
LEAVES: Final = 5.5
"""Misfit over which a log is looked at twice."""
QUICK_S: Final = 30.0
QUICK_STEPS: Final = 8
"""Readings so far apart, and so few steps, are enough to see whether a swap explains a log."""


class Told(NamedTuple):
    """One number, and whether the log tells it."""

    key: str
    words: str
    unit: str
    """Unit word, as in `coilward.loop.units.show`."""
    guess: float
    """As in the loop file."""
    value: float
    sd: float
    low: float
    high: float
    """Ends of the 95 % interval."""
    told: bool
    why: str
    """Where it is not told: what the log lacks."""


@dataclass(frozen=True, eq=False)
class Learned:
    """Everything that one log says about one loop."""

    loop: Loop
    log: Log
    plant: Plant
    fit: Fit
    heat: Heat
    caught: Caught | None
    decay: Decay | None
    largest_w: float
    """The largest heat held for three minutes; NaN where none was seen."""
    largest_s: float
    numbers: tuple[Told, ...]

    def number(self, key: str) -> Told:
        """One number by its key. Raises KeyError."""
        return {each.key: each for each in self.numbers}[key]


def learn(loop: Loop, log: Log, today: date) -> Learned:
    """What the log tells.

    Raises InputRefused for a log that lacks what drives the plant, is too short, or contradicts
    itself.
    """
    derived = derive(loop, today)
    log = _known(loop, log)
    check_rows(log, loop, derived)
    p = parameters(loop, derived, loop.site.outdoor_c)

    def fitted(
        tried: Log, *, quick: bool = False, correlated: bool = True
    ) -> tuple[Plant, Fit] | None:
        parts = stretches(tried, loop, p)
        thin = math.ceil(QUICK_S / log.every_s) if quick else 1
        plant = Plant(loop, tried, p, numbers(loop, tried, p), parts, thin=thin)
        if not parts or not plant.seen or all(
            sum(len(each.readings.get(name, ())) for each in parts) < 60 for name in plant.seen
        ):
            return None
        return plant, fit(
            plant.residuals, plant.start, plant.spread, prior_sd=plant.spread, least=plant.least,
            floor=FLOOR_K, unsure=plant.residuals, unsure_count=len(UNSURE),
            rounds=1 if quick and correlated else ROUNDS, most=QUICK_STEPS if quick else MOST,
            correlated=correlated, noisier=[] if quick else [
                Plant(loop, tried, p, plant.told, stretches(each, loop, p)).residuals
                for each in noisier(tried)
            ],
        )  # fmt: skip

    def again(tried: Log) -> tuple[Plant, Fit] | None:
        return fitted(tried, quick=True)

    both = fitted(log)
    if both is None:
        refuse(log, None, "flow", "", "there is no stretch of five minutes in which water moves "
               "and flow, tank and coil outlet are all read",
               f"{LEAST_MINUTES} minutes and more with the pump running")  # fmt: skip
        raise AssertionError
    plant, found = both
    listed = suspects(plant, found)
    if not listed and misfit(found) > LEAVES:
        # Where much is left over, what hangs together may hide an offset: look as if it did not.
        looked = fitted(log, quick=True, correlated=False)
        listed = suspects(*looked) if looked else []
    if listed:
        refuse_suspects(log, listed, swapped(log, plant, found, listed, again))
    heat = heat_of(plant, found.values)
    caught, why_caught = caught_of(plant, found.values, found.covariance, heat)
    decay, why_decay = decay_of(plant, found.values, found.covariance, heat)
    most_w, most_s = largest_w(heat)
    told = (
        *_plain(plant, found), *_offsets(plant, found), _decay(loop, decay, why_decay),
        _caught(loop, caught, why_caught),
    )  # fmt: skip
    return Learned(loop, log, plant, found, heat, caught, decay, most_w, most_s, told)


def _known(loop: Loop, log: Log) -> Log:
    """The log without thermometers at the radiator that the loop file doesn't know."""
    unknown = {name for name in SEEN if thermometer(loop, name) is None}
    columns = {name: each for name, each in log.columns.items() if name not in unknown}
    return replace(log, columns=columns)


LACKS: Final = {
    "radiator.fans_on": "the fans hardly ran while hot water passed",
    "radiator.fans_off": "the fans hardly stood while hot water passed",
    "radiator.fill": "nothing stepped at the radiator, or it is lost in when each row was read",
    "tank.water": "the tank hardly warmed or cooled",
    "tank.loss": "next to the other heat flows it is too small to be seen",
    "lines.hot.loss": "offset and loss look alike in this log",
    "lines.hot.fill": "nothing stepped, or it is lost in when each row was read",
}
"""Why a number may not be told, by its key; for lags the rows are too far apart."""
LAG_LACKS: Final = "nothing stepped, or it is lost in when each row was read"


def _plain(plant: Plant, found: Fit) -> list[Told]:
    listed = []
    stuck = any(
        number.key.endswith(".lag") and value < STUCK_SHARE * number.guess
        for number, value in zip(plant.told, found.values, strict=False)
    )
    for k, number in enumerate(plant.told):
        if number.key.endswith(".offset"):
            continue
        value = float(found.values[k])
        sd = float(np.hypot(found.sd[k], INEXACT.get(number.key, 0.0) * value))
        told = sd < TOLD_SHARE * number.spread
        if number.key.endswith(".lag"):
            # A lag and a late row look alike: no lag is known better than when rows were read.
            told = told and sd > plant.late_s
        if number.key.endswith((".lag", ".fill")):
            told = told and plant.tells_times and not stuck
        listed.append(_told(number.key, number.words, number.unit, number.guess,
                            value, sd, found.wide, told,
                            LACKS.get(number.key, LAG_LACKS)))  # fmt: skip
    return listed


def _offsets(plant: Plant, found: Fit) -> list[Told]:
    """Offsets against the tank's thermometer: what they have in common no log can tell."""
    listed = []
    for number in plant.told:
        name = number.key.split(".")[1]
        if not number.key.endswith(".offset"):
            continue
        if name == "tank":
            listed.append(_told(number.key, number.words, "k", number.guess, number.guess,
                                number.spread, found.wide, False,
                                "all others are measured against it: only ice water or a better "
                                "thermometer tells"))  # fmt: skip
            continue
        channel = "coil_outlet" if name == "coil_outlet_a" else name
        value = plant.offset_k(found.values, channel) - plant.offset_k(found.values, "tank")
        guess = number.guess - plant.value(plant.start, "sensors.tank.offset")
        sd = plant.relative_sd(found.covariance, channel, "tank")
        believed = plant.relative_sd(np.diag(plant.spread**2), channel, "tank")
        words = f"{number.words}, against the tank's"
        listed.append(_told(number.key, words, "k", guess, value, sd, found.wide,
                            sd < TOLD_SHARE * believed,
                            "cold water was never seen to circulate long enough"))  # fmt: skip
    return listed


def _decay(loop: Loop, decay: Decay | None, why: str) -> Told:
    words = "decay of the heat after the damper shuts"
    guess = loop.fire.decay_min
    if decay is None:
        return _told("fire.decay", words, "min", guess, np.nan, np.nan, WIDE, False, why)
    told = decay.sd < TOLD_SHARE * guess
    return _told("fire.decay", words, "min", guess, decay.minutes, decay.sd, decay.wide, told,
                 "the fall was too short: log it until a third of the heat is left")  # fmt: skip


def _caught(loop: Loop, caught: Caught | None, why: str) -> Told:
    words, guess = "share of the wood's heat in the water", loop.fire.caught
    if caught is None:
        return _told("fire.caught", words, "", guess, np.nan, np.nan, WIDE, False, why)
    return _told("fire.caught", words, "", guess, caught.share, caught.sd, WIDE, True, "")


def _told(
    key: str, words: str, unit: str, guess: float, value: float, sd: float, wide: float,
    told: bool, why: str,
) -> Told:  # fmt: skip
    return Told(key, words, unit, guess, value, sd, value - wide * sd, value + wide * sd, told,
                "" if told else why)  # fmt: skip
