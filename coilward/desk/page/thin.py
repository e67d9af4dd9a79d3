"""Fewer points with the same look: the least and the most of every short stretch are kept."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]


def thinned(
    trace: Mapping[str, Numbers], names: list[str], start_s: float, end_s: float, stretches: int
) -> dict[str, Numbers]:
    """`time_s` and the named series between two times, with at most two points a stretch.

    No peak is lost: each stretch gives its least and its most in the order in which they came.
    """
    time_s = trace["time_s"]
    first, last = np.searchsorted(time_s, [start_s, end_s + 1e-9])
    count = int(last - first)
    if count <= 2 * stretches:
        kept = {name: np.asarray(trace[name][first:last], dtype=float) for name in names}
        return {"time_s": np.asarray(time_s[first:last], dtype=float), **kept}
    edges = np.linspace(first, last, stretches + 1).astype(int)
    width_s = (end_s - start_s) / stretches
    starts_s = start_s + width_s * np.arange(stretches)
    thin = {"time_s": np.column_stack((starts_s + width_s / 4, starts_s + 3 * width_s / 4)).ravel()}
    for name in names:
        values = np.asarray(trace[name], dtype=float)
        pairs = [_ends(values[low:high]) for low, high in pairwise(edges)]
        thin[name] = np.array(pairs).ravel()
    return thin


def _ends(stretch: Numbers) -> tuple[float, float]:
    """Least and most of a stretch, in the order in which they came."""
    if np.isnan(stretch).all():
        return np.nan, np.nan
    low, high = int(np.nanargmin(stretch)), int(np.nanargmax(stretch))
    return float(stretch[min(low, high)]), float(stretch[max(low, high)])
