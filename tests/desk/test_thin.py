"""Thinning keeps what a person looks for: peaks, dips and gaps."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.desk.page.thin import thinned


def _trace(n=28801):
    t = np.arange(float(n))
    return {"time_s": t, "a": np.sin(t / 500.0), "b": np.full(n, np.nan)}


def test_a_single_peak_and_a_single_dip_survive():
    trace = _trace()
    trace["a"][12345], trace["a"][20001] = 90.0, -40.0
    thin = thinned(trace, ["a"], 0.0, 28800.0, 260)
    assert len(thin["time_s"]) == len(thin["a"]) == 520
    assert thin["a"].max() == 90.0
    assert thin["a"].min() == -40.0
    stretch_s = 28800 / 260
    assert abs(thin["time_s"][thin["a"].argmax()] - 12345) < stretch_s
    assert np.all(np.diff(thin["time_s"]) > 0)


def test_a_short_window_is_kept_as_it_is():
    trace = _trace()
    thin = thinned(trace, ["a"], 1000.0, 1180.0, 260)
    assert np.array_equal(thin["time_s"], np.arange(1000.0, 1181.0))
    assert np.array_equal(thin["a"], trace["a"][1000:1181])


def test_what_is_not_known_stays_a_gap():
    thin = thinned(_trace(), ["b"], 0.0, 28800.0, 260)
    assert np.isnan(thin["b"]).all()


@pytest.mark.parametrize(("low", "high"), [(100, 101), (101, 100)])
def test_the_order_within_a_stretch_is_kept(low, high):
    trace = _trace()
    trace["a"][:] = 0.0
    trace["a"][low], trace["a"][high] = -1.0, 1.0
    values = thinned(trace, ["a"], 0.0, 28800.0, 260)["a"]
    assert (values.argmin() < values.argmax()) == (low < high)
