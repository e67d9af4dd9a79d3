"""How fast a few readings move: straight lines through their last minutes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

WINDOWS_S: Final = {"outlet_c": 60.0, "flow_lpm": 60.0, "tank_c": 600.0, "heat_w": 300.0}
"""Length of the line: shorter than what it answers to, longer than noise."""
LEAST_SHARE: Final = 0.25
"""Of the window has to be there before a slope is told."""


class Slopes(NamedTuple):
    """Change a second; NaN where too little has been seen."""

    outlet_k_s: float = math.nan
    flow_lpm_s: float = math.nan
    tank_k_s: float = math.nan
    heat_w_s: float = math.nan


def slopes_of(columns: Mapping[str, Numbers]) -> Slopes:
    """Slopes at the end of the columns, which hold `time_s` and the names of `WINDOWS_S`."""
    return Slopes(*(
        slope(columns["time_s"], columns[name], window_s) for name, window_s in WINDOWS_S.items()
    ))  # fmt: skip


def slope(time_s: Numbers, values: Numbers, window_s: float) -> float:
    """Least-squares slope over the last ``window_s``; what is not finite is left out."""
    if not len(time_s):
        return math.nan
    first = int(np.searchsorted(time_s, time_s[-1] - window_s))
    known = np.isfinite(values[first:])
    x, y = time_s[first:][known], values[first:][known]
    if len(x) < 3 or x[-1] - x[0] < LEAST_SHARE * window_s:
        return math.nan
    x = x - x.mean()
    return float((x * (y - y.mean())).sum() / (x * x).sum())


def time_to_s(margin: float, closing_per_s: float) -> float:
    """Time in which a margin is used up; infinite where it does not shrink, NaN if not known."""
    if math.isnan(margin) or math.isnan(closing_per_s):
        return math.nan
    if margin <= 0.0:
        return 0.0
    return margin / closing_per_s if closing_per_s > 0.0 else math.inf
