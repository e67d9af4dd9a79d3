"""Residuals in channels, and how they move with the numbers, by differences."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from coilward.learning.log import Numbers

Residuals = Callable[[Numbers], list[Numbers]]
STEP: Final = 1e-3
"""Of a number's scale, for the derivatives."""


def known(parts: list[Numbers]) -> list[Numbers]:
    """The residuals without those that are NaN."""
    return [each[np.isfinite(each)] for each in parts]


def jacobian(
    function: Callable[[Numbers], Numbers], u: Numbers, *, central: bool = True
) -> Numbers:
    """Slopes of what ``function`` gives, a column for each of its scaled numbers."""
    columns = []
    here = None if central else function(u)
    for k in range(len(u)):
        step = np.zeros(len(u))
        step[k] = STEP
        if here is None:
            columns.append((function(u + step) - function(u - step)) / (2 * STEP))
        else:
            columns.append((function(u + step) - here) / STEP)
    return np.column_stack(columns)


def weighed(
    residuals: Residuals, values: Numbers, weights: Sequence[float], scale: Numbers, low: Numbers
) -> tuple[Numbers, Numbers]:
    """Residuals in standard deviations, and their slopes by scaled numbers, off the bounds."""
    def whole(at: Numbers) -> Numbers:
        parts = known(residuals(at))
        return np.concatenate([each * w for each, w in zip(parts, weights, strict=True)])

    inside = np.maximum(values, low + 2.0 * STEP * scale)
    return whole(values), jacobian(lambda u: whole(u * scale), inside / scale)
