"""A noisy reading made smooth, as far as it can be without bending its corners.

A parabola is laid through ever wider windows about each row (Savitzky and Golay), and the widest
is kept whose value still agrees with that of every narrower one (the rule of intersecting
confidence intervals, Goldenshluger and Nemirovski 1997). Where nothing happens the noise is
averaged over minutes; a step stays a step.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicHermiteSpline
from scipy.signal import savgol_coeffs, savgol_filter

from coilward.learning.log import Numbers

NARROWEST = 5
"""Rows of the narrowest window."""
AGREES = 2.0
"""Standard deviations on each side of a window's value."""


def noise_of(values: Numbers) -> float:
    """Standard deviation of what differs from row to row, by the median of second differences."""
    if len(values) < NARROWEST:
        return 0.0
    bends = np.abs(np.diff(values, 2))
    return float(np.median(bends) / (0.6745 * np.sqrt(6.0)))


def smoothed(
    time_s: Numbers, values: Numbers, at_s: Numbers, every_s: float, *, widest_s: float,
    least_noise: float,
) -> tuple[Numbers, Numbers]:
    """Value and slope, per second, at even times, of readings at rising times.

    ``least_noise`` is the noise reckoned with at the least, in the unit of the readings.
    """
    step_s = max(every_s, float(at_s[1] - at_s[0]))
    grid_s = at_s[0] + step_s * np.arange(int((at_s[-1] - at_s[0]) / step_s + 1e-9) + 2)
    raw = np.interp(grid_s, time_s, values)
    sd = max(noise_of(raw), least_noise)
    value, slope = raw, np.gradient(raw, step_s)
    low, high = np.full(len(raw), -np.inf), np.full(len(raw), np.inf)
    going = np.ones(len(raw), dtype=bool)
    window = NARROWEST
    while window <= len(raw) and window * step_s <= max(widest_s, NARROWEST * step_s):
        wider = savgol_filter(raw, window, 2)
        reach = AGREES * sd * float(np.sqrt(np.sum(savgol_coeffs(window, 2) ** 2)))
        low, high = np.maximum(low, wider - reach), np.minimum(high, wider + reach)
        going &= low <= high
        tilt = savgol_filter(raw, window, 2, deriv=1, delta=step_s)
        value, slope = np.where(going, wider, value), np.where(going, tilt, slope)
        window = 2 * (window - 1) + 1
    curve = CubicHermiteSpline(grid_s, value, slope)
    return np.asarray(curve(at_s)), np.asarray(curve(at_s, 1))
