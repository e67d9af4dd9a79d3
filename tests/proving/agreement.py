"""Ours against rtamt on random traces: how often, and how far apart."""

from __future__ import annotations

import math
from random import Random

import numpy as np

from coilward.proving.recording import Recording
from coilward.proving.robustness import robustness, robustness_by_definition
from tests.proving.trees import Oracle, formula_of, random_trace, random_tree

TRACES_A_FORMULA = 10
LONGEST = 60
DEPTH = 3


def apart(a, b):
    """Difference of two robustnesses; equal infinities are none."""
    return 0.0 if a == b else math.inf if math.isinf(a) or math.isinf(b) else abs(a - b)


def farthest(tree, formula, oracle, signals):
    """Largest difference between rtamt, the definition and the quick way, over every question."""
    theirs = oracle.robustness(signals)
    arrays = {name: np.array(values) for name, values in signals.items()}
    ours = robustness_by_definition(formula, arrays)
    if len(ours) != len(theirs):
        raise AssertionError(f"{len(ours)} samples against {len(theirs)}: {tree}")
    found = [apart(a, b) for a, b in zip(ours.tolist(), theirs, strict=True)]
    found.append(apart(robustness(formula, arrays), theirs[0]))
    recording = Recording(arrays)
    for strict in (False, True):
        mask = np.broadcast_to(recording.holds(formula, strict), len(theirs))
        true = [value > 0 if strict else value >= 0 for value in theirs]
        found.append(0.0 if mask.tolist() == true else math.inf)
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
