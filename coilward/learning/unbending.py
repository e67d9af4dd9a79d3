"""A fit without what noise in the drivers does to it.

Noise in what drives a model goes through it into the residuals, and grows less where the model
passes less of it on: least squares are drawn there. By how much is tried: as much noise again is
put on, and what that adds to gradient and curvature is taken off (corrected score, Nakamura,
Biometrika 77, 1990, with simulated noise as in Cook and Stefanski, JASA 89, 1994).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from coilward.learning.log import Numbers
from coilward.learning.slopes import Residuals, weighed

TURNS: Final = 8
SMALL: Final = 1e-3
"""Steps at the most, and the one that is the last, in scales."""


def unbent(
    residuals: Residuals, noisier: Sequence[Residuals], values: Numbers, weights: Sequence[float],
    scale: Numbers, low: Numbers, start: Numbers, precision: Numbers,
) -> tuple[Numbers, Numbers]:  # fmt: skip
    """Numbers, and the information of the readings in them, both in scaled numbers' terms.

    ``noisier`` are the residuals with as much noise again, in pairs of the same noise both ways.
    ``precision`` is how sharply each number was believed to lie at ``start``, one over scales.
    """
    believed = np.diag(precision**2)
    for _ in range(TURNS):
        pull, curve = _gradient(residuals, values, weights, scale, low)
        more = [_gradient(each, values, weights, scale, low) for each in noisier]
        pull = 2.0 * pull - np.mean([each for each, _ in more], axis=0)
        pull += believed @ (values - start) / scale
        curve = _not_negative(2.0 * curve - np.mean([each for _, each in more], axis=0))
        moved = np.maximum(values - scale * np.linalg.solve(curve + believed, pull), low)
        last = np.max(np.abs(moved - values) / scale) < SMALL
        values = moved
        if last:
            break
    return values, curve


def _gradient(
    residuals: Residuals, values: Numbers, weights: Sequence[float], scale: Numbers, low: Numbers
) -> tuple[Numbers, Numbers]:
    off, slope = weighed(residuals, values, weights, scale, low)
    return slope.T @ off, slope.T @ slope


def _not_negative(matrix: Numbers) -> Numbers:
    """The nearest matrix without negative eigenvalues."""
    sizes, ways = np.linalg.eigh(matrix)
    return np.asarray((ways * np.maximum(sizes, 0.0)) @ ways.T)
