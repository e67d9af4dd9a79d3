"""Identification against processes that are known exactly."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.tuning.identify import (
    Known,
    Process,
    fit_relay,
    fit_step,
    modelled,
    two_point,
    ultimate_of,
)

TIME_S = np.arange(0.0, 400.0)


def test_two_points_of_a_first_order_answer():
    """tau = 1.5 (t63 - t28), theta = t63 - tau: the textbook's two-point fit (from memory)."""
    time_s = np.arange(0.0, 200.0, 0.01)
    lag_s, delay_s = two_point(time_s, modelled(time_s, 20.0, 0.0, 7.0))
    assert lag_s == pytest.approx(20.0, rel=3e-3)
    assert delay_s == pytest.approx(7.0, abs=0.05)


@pytest.mark.parametrize(
    ("lag_s", "thermometer_s"), [(30.0, 8.0), (8.0, 8.0), (5.0, 8.0), (9.0, 0)]
)
def test_the_model_is_two_lags_in_a_row(lag_s, thermometer_s):
    x = y = 0.0
    for _ in range(round(37.0 / 0.001)):
        x += 0.001 / lag_s * (1.0 - x)
        y = x if thermometer_s == 0 else y + 0.001 / thermometer_s * (x - y)
    after = modelled(np.array([2.9, 40.0]), lag_s, thermometer_s, 3.0)
    assert after[0] == 0.0
    assert after[1] == pytest.approx(y, abs=2e-3)


def test_intervals_hold_the_truth_as_often_as_they_say():
    rng = np.random.default_rng(4)
    truth, held = (-3.0, 35.0, 6.0), np.zeros(3)
    runs = 300
    for _ in range(runs):
        outlet_c = 60.0 + 0.8 * truth[0] * modelled(TIME_S, truth[1], 8.0, truth[2])
        outlet_c = outlet_c + rng.normal(0.0, 0.08, len(TIME_S))
        found = fit_step(TIME_S, outlet_c, 60.0, 0.8, 8.0)
        for n, (value, known) in enumerate(zip(truth, found[:3], strict=True)):
            held[n] += abs(known.value - value) <= known.within
    assert (held / runs >= 0.92).all()
    assert (held / runs <= 0.995).all()


def test_residuals_that_are_alike_widen_the_intervals():
    rng = np.random.default_rng(4)
    outlet_c = 60.0 - 3.0 * modelled(TIME_S, 35.0, 8.0, 6.0)
    white = rng.normal(0.0, 0.08, len(TIME_S))
    wander = np.convolve(rng.normal(0.0, 0.08, len(TIME_S) + 19), np.ones(20), "valid") / 20**0.5
    sure, unsure = (fit_step(TIME_S, outlet_c + noise, 60.0, 1.0, 8.0) for noise in (white, wander))
    assert unsure.lag_s.within > 2.0 * sure.lag_s.within


def relayed(rate_s: float = 0.0005):
    """A relay of one around 1/(s+1)^3."""
    x = [0.0, 0.0, 0.0]
    rows = []
    for tick in range(round(60.0 / rate_s)):
        told = -1.0 if x[2] > 0.0 else 1.0
        if tick % 20 == 0:
            rows.append((tick * rate_s, x[2], told))
        x = [
            x[0] + rate_s * (told - x[0]), x[1] + rate_s * (x[0] - x[1]),
            x[2] + rate_s * (x[1] - x[2]),
        ]  # fmt: skip
    return np.array(rows).T


def test_a_relay_finds_the_swing_of_three_lags():
    """Exactly Ku 8 and Pu 3.628; the relay's first harmonic gives 7.78 and 3.68 (recomputed)."""
    found = fit_relay(*relayed())
    assert found.gain == pytest.approx(7.78, rel=0.01)
    assert found.period_s == pytest.approx(3.68, rel=0.01)


def test_a_relay_that_does_not_swing_finds_nothing():
    time_s = np.arange(0.0, 100.0)
    assert fit_relay(time_s, np.linspace(60.0, 59.0, 100), np.ones(100)) is None


def test_the_swing_of_a_fitted_process():
    """Phase -180 deg and gain one at Ku, reckoned from the transfer function itself."""
    process = Process(Known(-3.0, 0.0), Known(35.0, 0.0), Known(6.0, 0.0), 8.0)
    gain, period_s = ultimate_of(process)
    s = 2j * np.pi / period_s
    response = gain * 3.0 * np.exp(-6.0 * s) / ((35.0 * s + 1.0) * (8.0 * s + 1.0))
    assert response == pytest.approx(-1.0, abs=1e-6)
