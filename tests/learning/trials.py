"""Logs with a known truth, learned from: what is covered, and what is noticed."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from coilward.learning.learned import learn
from coilward.learning.log import Log
from coilward.loop.errors import InputRefused
from tests.learning.made import HELD, TODAY, WOOD, made

THERMOMETERS = ("coil_outlet", "radiator_inlet", "radiator_outlet", "tank", "room")
TANK = "sensors.tank.offset"


def log_of(seed):
    """The log of a seed: a wood fire on even seeds, a held one on odd ones, two loops in turn."""
    every = int(np.random.default_rng([seed, 11]).choice([1, 2, 5, 10]))
    name = ("greenhouse", "boathouse")[seed // 2 % 2]
    return made(seed, WOOD if seed % 2 == 0 else HELD, name=name, every=every)


def covered(seed):
    """For every number that the log tells: key, distance from the truth in intervals, its share.

    1 is the end of the 95 % interval. Of a wood fire no decay is known: its wood burns down too.
    """
    log, truth = log_of(seed)
    found = []
    for each in learn(truth.file, log, TODAY).numbers:
        if not each.told or (each.key == "fire.decay" and seed % 2 == 0):
            continue
        true = truth.numbers[each.key]
        if each.key.endswith(".offset"):
            true -= truth.numbers[TANK]
        half = 0.5 * (each.high - each.low)
        found.append((each.key, (each.value - true) / half, half / max(abs(true), 1e-9)))
    return found


def spoiled(seed):
    """A log with two columns swapped or one offset far beyond its error: what, and the answer.

    The answer is empty where the log was taken for good.
    """
    rng = np.random.default_rng([seed, 5])
    log, truth = log_of(seed)
    columns = dict(log.columns)
    if rng.random() < 0.5:
        pairs = list(combinations(THERMOMETERS, 2))
        one, other = pairs[rng.integers(len(pairs))]
        columns[one], columns[other] = log.columns[other], log.columns[one]
        what = f"swapped {one} {other}"
    else:
        one = THERMOMETERS[rng.integers(len(THERMOMETERS))]
        by_k = float(rng.choice([-1, 1]) * rng.uniform(4.0, 8.0))
        columns[one] = columns[one] + by_k
        what = f"offset {one} by {by_k:+.1f} K"
    try:
        learn(truth.file, Log(log.file, log.time_s, columns, log.lines), TODAY)
    except InputRefused as refused:
        return what, str(refused)
    return what, ""
