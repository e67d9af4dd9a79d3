"""The least squares against published answers, and the correction for what hangs together."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.learning.fitting import fit

# NIST StRD, nonlinear regression, data set Misra1a (the same data serve Misra1b): pressure
# against volume; data, certified values and standard deviations as published there (from memory).
X = np.array([77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1,
              689.1, 760.0])  # fmt: skip
Y = np.array([10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40,
              75.47, 81.78])  # fmt: skip
SETS = {
    "Misra1a": (lambda b: b[0] * (1 - np.exp(-b[1] * X)), (250.0, 5e-4),
                (238.94212918, 5.5015643181e-4), (2.7070075241, 7.2668688436e-6)),
    "Misra1b": (lambda b: b[0] * (1 - (1 + b[1] * X / 2) ** -2), (300.0, 2e-4),
                (337.99746163, 3.9039091287e-4), (3.1643950207, 4.2547321834e-6)),
}  # fmt: skip


@pytest.mark.parametrize("name", SETS)
def test_nist_nonlinear_sets(name):
    model, start, values, sds = SETS[name]
    begin = np.array(start)
    found = fit(lambda b: [Y - model(b)], begin, begin, correlated=False, tolerance=1e-13)
    assert found.values == pytest.approx(values, rel=1e-8)
    assert found.sd == pytest.approx(sds, rel=1e-5)


def test_gum_h3_thermometer_and_its_covariance():
    """GUM (JCGM 100:2008), H.3: corrections of a thermometer, a line through eleven points."""
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010,
                  26.511])  # fmt: skip
    b = -1e-3 * np.array([171, 169, 166, 159, 164, 165, 156, 157, 159, 161, 160])
    found = fit(
        lambda y: [b - y[0] - y[1] * (t - 20.0)], np.array([-0.1, 0.0]), np.array([0.1, 0.01]),
        correlated=False, tolerance=1e-13,
    )  # fmt: skip
    assert found.values == pytest.approx([-0.1712, 0.00218], abs=6e-5)
    assert found.sd == pytest.approx([0.0029, 0.00067], abs=6e-5)
    together = found.covariance[0, 1] / (found.sd[0] * found.sd[1])
    assert together == pytest.approx(-0.930, abs=6e-4)
    at_30 = np.array([1.0, 10.0])
    assert at_30 @ found.values == pytest.approx(-0.1494, abs=6e-5)
    assert np.sqrt(at_30 @ found.covariance @ at_30) == pytest.approx(0.0041, abs=6e-5)


def means(rho, correlated):
    """How often a 95 % interval of the mean of an AR(1) series covers it, in 300 series."""
    covered = 0
    for seed in range(300):
        rng = np.random.default_rng([seed, 3])
        noise = rng.normal(size=600)
        series = np.empty(600)
        last = rng.normal() / np.sqrt(1 - rho**2)
        for k in range(600):
            last = rho * last + noise[k]
            series[k] = last
        found = fit(lambda m, s=series: [s - m[0]], np.zeros(1), np.ones(1), correlated=correlated)
        covered += abs(found.values[0]) < found.wide * found.sd[0]
    return covered / 300


def test_residuals_that_hang_together_widen_the_interval():
    """The variance of the mean of an AR(1) series is (1 + rho) / (1 - rho) that of a white one."""
    assert 0.90 <= means(0.8, correlated=True) <= 0.99
    assert means(0.8, correlated=False) < 0.65


def test_what_was_believed_before_counts_as_a_reading():
    """Two estimates of one number, weighted by their variances: in any text on statistics."""
    rng = np.random.default_rng(1)
    readings = rng.normal(3.0, 1.0, 100)
    found = fit(lambda m: [readings - m[0]], np.array([0.0]), np.ones(1), prior_sd=np.array([0.1]),
                rounds=12)  # fmt: skip
    var = np.mean((readings - found.values[0]) ** 2) * found.times[0] / 100
    assert found.sd[0] == pytest.approx(1 / np.sqrt(1 / var + 1 / 0.01), rel=1e-3)
    assert found.values[0] == pytest.approx(readings.mean() * 0.01 / (0.01 + var), rel=2e-2)


def test_what_is_not_fitted_widens_the_interval():
    """A bias of 0 give or take 1 that nothing tells: its variance is added (Schmidt 1966)."""
    readings = np.random.default_rng(2).normal(0.0, 0.1, 400)
    found = fit(
        lambda m: [readings - m[0]], np.zeros(1), np.ones(1),
        unsure=lambda m, w: [readings - m[0] - w[0]], unsure_count=1,
    )  # fmt: skip
    assert found.sd[0] == pytest.approx(1.0, rel=1e-2)


def slope_through_noise(corrected, seed):
    """A slope of 2 fitted to a driver that is read with noise; value and standard deviation."""
    rng = np.random.default_rng([seed, 8])
    driver = rng.normal(0.0, 2.0, 2000)
    read = driver + rng.normal(0.0, 1.0, 2000)
    answer = 2.0 * driver + rng.normal(0.0, 0.5, 2000)
    more = rng.normal(0.0, 1.0, (4, 2000))
    noisier = [
        lambda b, each=each, sign=sign: [answer - b[0] * (read + sign * each)]
        for each in more for sign in (1.0, -1.0)
    ]  # fmt: skip
    one = np.array([1.0])
    found = fit(lambda b: [answer - b[0] * read], one, one, noisier=noisier if corrected else ())
    return found.values[0], found.sd[0]


def test_noise_in_the_driver_lowers_a_slope_as_the_reliability_ratio_says():
    """W. A. Fuller, Measurement Error Models (1987), 1.1 (from memory): 4 / (4 + 1) of it."""
    found = [slope_through_noise(False, seed)[0] for seed in range(20)]
    assert np.mean(found) == pytest.approx(2.0 * 4.0 / 5.0, abs=0.01)


def test_what_noise_in_the_driver_does_is_taken_back():
    found = np.array([slope_through_noise(True, seed) for seed in range(100)])
    assert found[:, 0].mean() == pytest.approx(2.0, abs=0.015)
    off = (found[:, 0] - 2.0) / found[:, 1]
    assert 0.8 < off.std() < 1.25


def test_weighing_goes_on_until_the_weights_stand():
    """A channel that was thought bad, and is good, ends with the weight that its scatter asks."""
    rng = np.random.default_rng(3)
    x = np.linspace(0.0, 1.0, 400)
    good, bad = 5.0 * x + rng.normal(0, 0.01, 400), 5.0 * x + rng.normal(0, 1.0, 400)
    found = fit(
        lambda b: [good - b[0] * x, bad - b[1] - b[0] * x], np.array([50.0, 0.0]),
        np.array([10.0, 1.0]), prior_sd=np.array([1000.0, 1000.0]),
    )  # fmt: skip
    assert found.spread == pytest.approx([0.01, 1.0], rel=0.1)
    assert found.sd[0] == pytest.approx(0.01 / np.sqrt(np.sum(x**2)), rel=0.15)
