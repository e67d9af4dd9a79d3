"""Against rtamt 0.4.10 (Nickovic, Yamaguchi: RTAMT, ATVA 2020), offline STL in discrete time."""

from __future__ import annotations

from random import Random

import pytest

from coilward.proving.requirements import REQUIREMENTS
from tests.proving.agreement import farthest, random_pairs, shipped_pairs
from tests.proving.trees import Oracle, formula_of, lasting

WITHIN = 1e-9
RUN = {"alpha": [1.0, 2.0, -1.0, 0.5, 3.0]}
ABOVE_0 = ("level", "alpha", 0.0, True)


def test_random_formulas_on_random_traces():
    """A seeded share; ``python -m benchmarks.formulas --agree 10000`` runs them all."""
    for tree, formula, oracle, signals in random_pairs(1500, seed=4):
        assert farthest(formula, oracle, signals) <= WITHIN, (tree, signals)


def test_every_shipped_requirement():
    verdicts = {}
    for tree, formula, oracle, signals in shipped_pairs(900, seed=5):
        assert farthest(formula, oracle, signals) <= WITHIN, (tree, signals)
        verdicts.setdefault(formula, set()).add(oracle.robustness(signals)[0] < 0)
    assert len(verdicts) == 3 * len(REQUIREMENTS)
    both = sum(found == {False, True} for found in verdicts.values())
    assert both >= 2 * len(REQUIREMENTS)


@pytest.mark.parametrize("kind", ["always", "eventually", "historically", "once"])
@pytest.mark.parametrize("window", [(0, 0), (0, 2), (2, 2), (1, 4), (4, 4), (5, 9), (0, 9), (9, 9)])
def test_windows_that_leave_the_trace(kind, window):
    """An empty window is infinite: true for "always", false for "eventually"."""
    tree = (kind, ABOVE_0, *window)
    assert farthest(formula_of(tree), Oracle(tree), RUN) == 0.0


def test_a_duration_is_as_many_windows_as_it_is_long():
    """``lasts`` in rtamt's own operators: a run of k counts in k windows of "historically"."""
    random = Random(3)
    windows = [Oracle(("historically", ABOVE_0, 0, k)) for k in range(30)]
    for _ in range(20):
        values = [-1.0] * 30 + [random.choice((1.0, 1.0, 1.0, 0.0, -1.0)) for _ in range(30)]
        whole = [oracle.robustness({"alpha": values}) for oracle in windows]
        counted = [float(sum(row[i] >= 0 for row in whole)) for i in range(len(values))]
        assert lasting(values, 0)[30:] == counted[30:]
