"""The algebra by hand, and its quick ways against its definition."""

from __future__ import annotations

import math
from random import Random

import numpy as np
import pytest

from coilward.proving.robustness import (
    always,
    at_least,
    at_most,
    eventually,
    historically,
    implies,
    lasts,
    once,
    robustness,
    robustness_by_definition,
    since,
    sure,
    until,
)
from coilward.proving.windows import NEUTRAL, sliding
from tests.proving.trees import formula_of, random_trace, random_tree

INF = math.inf
RUN = {"a": np.array([3.0, 1.0, -2.0, 4.0, 5.0]), "b": np.array([0.0, 0.0, 1.0, 0.0, 0.0])}
A, B = at_least("a", 0.0), at_least("b", 0.5)

BY_HAND = [
    (A, [3, 1, -2, 4, 5]),
    (at_most("a", 1.0), [-2, 0, 3, -3, -4]),
    (~A, [-3, -1, 2, -4, -5]),
    (A & B, [-0.5, -0.5, -2, -0.5, -0.5]),
    (A | B, [3, 1, 0.5, 4, 5]),
    (implies(A, B), [-0.5, -0.5, 2, -0.5, -0.5]),
    (always(A), [-2, -2, -2, 4, 5]),
    (always(A, 1, 2), [-2, -2, 4, 5, INF]),
    (eventually(B, 0, 1), [-0.5, 0.5, 0.5, -0.5, -0.5]),
    (historically(A, 1, 2), [INF, 3, 1, -2, -2]),
    (once(B), [-0.5, -0.5, 0.5, 0.5, 0.5]),
    (once(B, 1, 1), [-INF, -0.5, -0.5, 0.5, -0.5]),
    (since(A, B), [-0.5, -0.5, 0.5, 0.5, 0.5]),
    (until(A, B), [0.5, 0.5, 0.5, -0.5, -0.5]),
    (sure(A), [INF, INF, -INF, INF, INF]),
    (lasts(A, 2), [-1, 0, -2, -1, 0]),
    (implies(sure(B), A), [INF, INF, -2, INF, INF]),
]  # fmt: skip


@pytest.mark.parametrize(("formula", "expected"), BY_HAND)
def test_by_hand(formula, expected):
    assert robustness_by_definition(formula, RUN).tolist() == expected
    assert robustness(formula, RUN) == expected[0]


def test_the_quick_way_is_the_definition():
    """Long traces, and a guard in front: the mask of what counts is where shortcuts could slip."""
    random = Random(11)
    for _ in range(1500):
        guard, tree = random_tree(random, 2), random_tree(random, 3)
        formula = always(implies(sure(formula_of(guard)), formula_of(tree)))
        signals = {k: np.array(v) for k, v in random_trace(random, 200).items()}
        slow = robustness_by_definition(formula, signals)
        assert robustness(formula, signals) == slow[0], (guard, tree)


@pytest.mark.parametrize("width", [1, 2, 3, 5, 64, 100])
@pytest.mark.parametrize("extreme", ["least", "greatest"])
def test_sliding_extremes_against_plain_ones(width, extreme):
    values = np.random.default_rng(5).normal(size=80)
    pick = {"least": min, "greatest": max}[extreme]
    for begin in (0, 3, 79, 90):
        pieces = [values[i + begin : i + begin + width] for i in range(80)]
        plain = [pick(piece, default=NEUTRAL[extreme]) for piece in pieces]
        assert sliding(values, begin, begin + width - 1, extreme).tolist() == plain


def test_more_runs_than_are_taken_one_by_one():
    flicker = {"a": np.where(np.arange(1000) % 3 > 0, 1.0, -1.0), "b": np.arange(1000.0)}
    for formula in (once(A, 1, 1), historically(A, 0, 1), lasts(A, 2), since(A, B)):
        guarded = always(implies(sure(formula), at_least("b", 0.0)))
        assert robustness(guarded, flicker) == robustness_by_definition(guarded, flicker)[0]


def test_infinite_signals_count_as_what_they_are():
    signals = {"a": np.array([INF, -INF])}
    assert robustness(always(A), signals) == -INF
    assert robustness(eventually(A), signals) == INF


@pytest.mark.parametrize("sample", [0, 1, 4])
def test_nan_is_refused_wherever_it_stands(sample):
    values = np.ones(5)
    values[sample] = math.nan
    for formula in (A, always(A), always(~A), always(implies(sure(B), A)), always(lasts(A, 2)),
                    always(B) | A, once(sure(A))):  # fmt: skip
        with pytest.raises(ValueError, match=f"'a' is NaN at sample {sample}"):
            robustness(formula, {"a": values, "b": np.zeros(5)})


def test_what_is_no_recording_is_refused():
    with pytest.raises(ValueError, match="at least 1 sample"):
        robustness(A, {"a": np.zeros(0)})
    with pytest.raises(ValueError, match="one length"):
        robustness(A, {"a": np.zeros(2), "b": np.zeros(3)})
    with pytest.raises(ValueError, match="no signal 'b', only a"):
        robustness(B, {"a": np.zeros(2)})


@pytest.mark.parametrize("bound", [math.nan, INF])
def test_a_bound_has_to_be_a_number(bound):
    with pytest.raises(ValueError, match="finite"):
        at_least("a", bound)


@pytest.mark.parametrize("window", [(-1, 2), (3, 2), (1, None)])
def test_a_window_has_to_be_one(window):
    with pytest.raises(ValueError, match="window"):
        always(A, *window)
