"""The scatter of readings, and the heat in a gap, against what they were made with."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.learning.heat import unseen_sd_j
from coilward.learning.log import log_of_rows
from coilward.learning.noise import noise_of, noisier


@pytest.mark.parametrize(("sd", "quantum"), [(0.05, 0.0), (0.1, 1 / 16), (0.04, 0.1 * 5 / 9)])
def test_scatter_is_found_under_a_slow_drift_and_steps(sd, quantum):
    """Rounding adds a twelfth of its step's square (Sheppard)."""
    rng = np.random.default_rng(5)
    time_s = np.arange(4000.0)
    truth = 40.0 + 20.0 * np.sin(time_s / 600.0) + 15.0 * (time_s > 2000.0)
    read = truth + rng.normal(0.0, sd, len(truth))
    if quantum:
        read = np.round(read / quantum) * quantum
    read[100:140] = np.nan
    assert noise_of(read) == pytest.approx(np.hypot(sd, quantum / np.sqrt(12.0)), rel=0.06)


def test_noisier_logs_come_in_pairs_about_the_log():
    rng = np.random.default_rng(5)
    columns = {"coil_outlet": 60 + rng.normal(0, 0.1, 500), "flow": np.full(500, 6.0)}
    log = log_of_rows("x.csv", np.arange(500.0), columns)
    pairs = list(noisier(log))
    assert len(pairs) % 2 == 0
    for one, other in zip(pairs[::2], pairs[1::2], strict=True):
        added = one.columns["coil_outlet"] - log.columns["coil_outlet"]
        assert added.std() == pytest.approx(0.1, rel=0.2)
        assert np.allclose(other.columns["coil_outlet"] + added, log.columns["coil_outlet"])
        assert np.array_equal(one.columns["flow"], log.columns["flow"])


def test_heat_in_gaps_is_as_unsure_as_it_moves():
    """Heat that wanders at random: from both edges of a gap of n rows it ends up to
    sqrt(n^3 / 12) steps off in the sum (a Brownian bridge's area, from memory)."""
    rng = np.random.default_rng(6)
    water_w = 5000.0 + np.cumsum(rng.normal(0.0, 10.0, 200_000))
    holed = water_w.copy()
    holed[50_000:50_100] = np.nan
    filled = np.interp(np.arange(len(holed)), np.flatnonzero(np.isfinite(holed)),
                       holed[np.isfinite(holed)])  # fmt: skip
    assert unseen_sd_j(holed, filled) == pytest.approx(10.0 * np.sqrt(101**3 / 12), rel=0.1)
    even = np.where(np.isnan(holed), np.nan, 5000.0)
    assert unseen_sd_j(even, np.full(len(even), 5000.0)) == pytest.approx(0.0, abs=1e-3)


def test_a_gap_longer_than_what_is_seen_is_a_guess():
    water_w = np.full(100, 1000.0)
    water_w[20:80] = np.nan
    assert unseen_sd_j(water_w, np.full(100, 1000.0)) == pytest.approx(0.2 * 60 * 1000.0)
