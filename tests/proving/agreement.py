"""Ours against rtamt on random traces: how often, and how far apart."""

from __future__ import annotations

import math
from datetime import date
from random import Random

import numpy as np

from coilward.controller.constants import constants_for
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.proving.bits import unpacked
from coilward.proving.bounds import bounds_of
from coilward.proving.recording import Recording
from coilward.proving.requirements import prepared
from coilward.proving.robustness import robustness, robustness_by_definition
from tests.proving.trees import Oracle, formula_of, random_trace, random_tree, tree_of

TRACES_A_FORMULA = 10
LONGEST = 60
DEPTH = 3


def apart(a, b):
    """Difference of two robustnesses; equal infinities are none."""
    return 0.0 if a == b else math.inf if math.isinf(a) or math.isinf(b) else abs(a - b)


def farthest(formula, oracle, signals):
    """Largest difference between rtamt, the definition and the quick way, over every question."""
    theirs = oracle.robustness(signals)
    arrays = {name: np.array(values) for name, values in signals.items()}
    ours = robustness_by_definition(formula, arrays)
    if len(ours) != len(theirs):
        return math.inf
    found = [apart(a, b) for a, b in zip(ours.tolist(), theirs, strict=True)]
    found.append(apart(robustness(formula, arrays), theirs[0]))
    recording = Recording(arrays)
    for strict in (False, True):
        held = unpacked(recording.holds(formula, strict), len(theirs))
        true = [value > 0 if strict else value >= 0 for value in theirs]
        found.append(0.0 if held.tolist() == true else math.inf)
    found.append(apart(recording.least(formula), min(theirs)))
    return max(found)


def random_pairs(count, seed):
    """So many pairs of a random formula, with its oracle, and a random trace."""
    random = Random(seed)
    for number in range(count):
        if number % TRACES_A_FORMULA == 0:
            tree = random_tree(random, DEPTH)
            formula, oracle = formula_of(tree), Oracle(tree)
        yield tree, formula, oracle, random_trace(random, LONGEST)


LEVELS = {
    "water_c": (60.0, 80.0, 93.0, 98.0), "wall_c": (66.0, 119.0, 125.0),
    "outlet_c": (60.0, 82.0, 83.0, 90.0), "tank_c": (30.0, 66.0, 70.0),
    "flow_lpm": (0.0, 0.9, 0.95, 1.0, 3.0), "heat_w": (0.0, 800.0, 1200.0, 5000.0, 9000.0),
    "pump": (0.0, 1.0), "valve": (0.0, 0.42, 0.44, 0.7, 1.0), "damper": (0.0, 1.0),
    "dump": (0.0, 1.0), "horn": (0.0, 1.0, 3.0), "awake": (0.0, 1.0, 1.0, 1.0),
}  # fmt: skip
"""On both sides of every bound of the boathouse, and on some."""


def plant_trace(random, longest):
    """Signals that stay at a level for a while; some never leave it."""
    count = random.choice((1, random.randint(2, longest), random.randint(2, longest)))
    signals = {}
    for name, levels in LEVELS.items():
        stays = random.choice((0.0, 0.5, 0.9, 0.97, 1.0))
        values = [random.choice(levels)]
        while len(values) < count:
            values.append(values[-1] if random.random() < stays else random.choice(levels))
        noisy = random.random() < 0.5 and max(levels) > 3.0
        signals[name] = [v + random.gauss(0.0, 1.0) if noisy else v for v in values]
    return signals


def shipped_pairs(count, seed):
    """So many pairs of a shipped requirement and a trace; at coarse ticks its windows fit in."""
    random = Random(seed)
    loop = read_loop("boathouse")
    derived = derive(loop, date(2026, 11, 25))
    bounds = bounds_of(loop, derived, constants_for(loop, derived))
    pairs = []
    for tick_s in (loop.tick_s, 1.0, 10.0):
        for _, _, formula in prepared(bounds._replace(tick_s=tick_s)):
            tree = tree_of(formula)
            pairs.append((tree, formula, Oracle(tree)))
    for number in range(count):
        yield *pairs[number % len(pairs)], plant_trace(random, LONGEST)
