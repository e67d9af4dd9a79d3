"""Uncertainty against published worked examples."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import scipy

from coilward.measuring.uncertainty import (
    COVERAGE,
    Part,
    Uncertainty,
    curve_fit,
    half_step_u,
    line_fit,
    pooled,
    tolerance_factor,
)

# JCGM 100:2008 (GUM), H.3, table H.6: readings of a thermometer and observed corrections, degC.
READ_C = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
OFF_K = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def test_the_thermometer_of_gum_h3():
    """GUM H.3.3 and H.3.4: -0.1712(29), 0.00218(67), r = -0.930, s = 0.0035; b(30) = -0.1494."""
    fit = line_fit([each - 20 for each in READ_C], OFF_K)
    assert (fit.intercept, fit.intercept_u) == pytest.approx((-0.1712, 0.0029), abs=5e-5)
    assert (fit.slope, fit.slope_u) == pytest.approx((0.00218, 0.00067), abs=5e-6)
    assert fit.correlation == pytest.approx(-0.930, abs=5e-4)
    assert fit.deviation == pytest.approx(0.0035, abs=5e-5)
    assert fit.freedom == 9
    assert fit.at(10) == pytest.approx(-0.1494, abs=5e-5)
    assert fit.at_u(10) == pytest.approx(0.0041, abs=5e-5)


def test_norris():
    """NIST StRD, Norris: certified slope and intercept, deviations and residual deviation.

    The data ship inside scipy's own tests.
    """
    file = Path(scipy.__file__).parent / "stats/tests/data/nist_linregress/Norris.dat"
    data = [[float(word) for word in line.split()] for line in file.read_text().splitlines()[60:96]]
    fit = line_fit([x for _, x in data], [y for y, _ in data])
    assert fit.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert fit.intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert fit.slope_u == pytest.approx(0.429796848199937e-3, rel=1e-9)
    assert fit.intercept_u == pytest.approx(0.232818234301152, rel=1e-9)
    assert fit.deviation == pytest.approx(0.884796396144373, rel=1e-9)


def test_misra1a():
    """NIST StRD, Misra1a, from its second start."""
    x = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1,
         760.0]  # fmt: skip
    y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47,
         81.78]  # fmt: skip
    fit = curve_fit(lambda x, a, b: a * (1 - np.exp(-b * x)), x, y, (250.0, 5e-4))
    assert fit.constants == pytest.approx((238.94212918, 5.5015643181e-4), rel=1e-6)
    assert fit.u == pytest.approx((2.7070075241, 7.2668688436e-6), rel=1e-4)
    assert fit.deviation == pytest.approx(0.10187876330, rel=1e-5)


@pytest.mark.parametrize(
    ("freedom", "factor"),
    # GUM, table G.2, Student's t for 95.45 %
    [(1, 13.97), (2, 4.53), (3, 3.31), (4, 2.87), (5, 2.65), (8, 2.37), (10, 2.28), (50, 2.05)],
)
def test_few_repeats_widen_the_factor(freedom, factor):
    doubt = Uncertainty((Part("repeats", 1.0, freedom),))
    assert doubt.factor == pytest.approx(factor, abs=5e-3)
    assert doubt.expanded == doubt.factor


def test_welch_and_satterthwaite_of_gum_h1():
    """GUM H.1.6: u = 32 nm of 25 nm (18), 9.7 nm (25.6), 2.9 nm (50) and 16.6 nm (2): 16."""
    doubt = Uncertainty((
        Part("standard", 25, 18), Part("difference", 9.7, 25.6), Part("alpha", 2.9, 50),
        Part("theta", 16.6, 2),
    ))  # fmt: skip
    assert doubt.u == pytest.approx(32, abs=0.5)
    assert math.floor(doubt.freedom) == 16
    assert Uncertainty((Part("known", 3.0), Part("also", 4.0))).expanded == 10.0


def test_spread_of_groups_is_pooled_about_each_mean():
    """By hand: squares 2 x 0.01 and 2 x 0.04 over two freedoms."""
    spread, freedom = pooled([[1.0, 1.2], [5.0, 5.4], [9.0]])
    assert (spread, freedom) == (pytest.approx(math.sqrt((0.02 + 0.08) / 2)), 2)
    assert pooled([[1.0]])[1] == 0


def test_a_step_is_a_box():
    """GUM 4.3.7: half-width a has u = a / sqrt(3)."""
    assert half_step_u(2.0) == pytest.approx(1 / math.sqrt(3))
    assert round(COVERAGE, 4) == 0.9545


def test_tolerance_factor_of_the_handbook():
    """NIST/SEMATECH e-Handbook 7.2.6.3 (from memory): N 43, 90 % with 99 % confidence: 1.8740."""
    assert tolerance_factor(43, 0.90, 0.99) == pytest.approx(1.8740, abs=2e-4)


@pytest.mark.parametrize(
    "work", [lambda: line_fit([1, 1], [2, 3]), lambda: tolerance_factor(1), lambda: curve_fit(
        lambda x, a, b: a + 0 * b, [1.0], [1.0], (1, 1))]
)  # fmt: skip
def test_too_little_is_refused(work):
    with pytest.raises(ValueError, match=r"need|curve"):
        work()
