"""Nonlinear least squares with what was believed before, and intervals for correlated residuals.

The residuals come in channels, each in order of time. A channel's weight is its own scatter, and
the number of independent readings in it: residuals that hang together over ten rows count for a
tenth of them (the sum of the autocorrelation up to where its pairs turn negative, after Geyer,
Practical Markov Chain Monte Carlo, 1992).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import t as student

from coilward.learning.log import Numbers
from coilward.learning.slopes import Residuals, jacobian, known, weighed
from coilward.learning.unbending import unbent

SHARE = 0.95
ROUNDS = 12
MOST = 40
"""Rounds of weighing at the most, and steps of the search in each."""
STANDS = 0.01
"""Weighing ends once it changes no weight by more than this share."""
LEAST_ROWS = 8
LONGEST_LAG = 3000


@dataclass(frozen=True, eq=False)
class Fit:
    """What was found, and how well."""

    values: Numbers
    covariance: Numbers
    residuals: list[Numbers]
    spread: Numbers
    """Standard deviation of each channel's residuals, in its unit."""
    times: Numbers
    """Of each channel: rows that count as one."""
    freedom: float
    """Independent readings less the numbers that they decide."""
    information: Numbers
    """Of the readings alone, without what was believed before."""

    @property
    def sd(self) -> Numbers:
        """Standard deviation of each number."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    @property
    def wide(self) -> float:
        """Standard deviations on each side of a 95 % interval (Student)."""
        return float(student.ppf(0.5 + SHARE / 2, max(self.freedom, 1.0)))


def fit(
    residuals: Residuals, start: Numbers, scale: Numbers, *,
    prior_sd: Numbers | None = None, least: Numbers | None = None, floor: float = 0.0,
    correlated: bool = True, tolerance: float = 1e-6,
    unsure: Callable[[Numbers, Numbers], list[Numbers]] | None = None, unsure_count: int = 0,
    noisier: Sequence[Residuals] = (), rounds: int = ROUNDS, most: int = MOST,
) -> Fit:  # fmt: skip
    """The numbers with the least weighted squares.

    ``scale`` is what a number may well change by; ``prior_sd`` how far from ``start`` each is
    believed to lie (infinite: anywhere); ``least`` its lower bound; ``floor`` the smallest
    standard deviation that a channel's residuals are given. Residuals that are NaN don't count.
    ``unsure`` gives the residuals with ``unsure_count`` more numbers that are not fitted, each 0
    give or take 1: what they may do to the result is added to its covariance (Schmidt 1966).
    ``noisier`` gives the residuals with as much noise again on what drives the model, in pairs of
    the same noise both ways: see `unbending`. ``rounds`` and ``most`` bound the work.
    """
    count = len(start)
    believed = np.full(count, np.inf) if prior_sd is None else prior_sd
    low = np.full(count, -np.inf) if least is None else least
    values = np.maximum(start, low)
    first = known(residuals(values))
    weights = [1.0 / max(_spread(each), floor, 1e-12) for each in first]
    precision = scale / believed

    for _ in range(rounds):
        def weighted(u: Numbers, weights: Sequence[float] = tuple(weights)) -> Numbers:
            parts = known(residuals(u * scale))
            rows = [each * weight for each, weight in zip(parts, weights, strict=True)]
            return np.concatenate([*rows, (u - start / scale) * precision])

        def slopes(u: Numbers) -> Numbers:
            return jacobian(weighted, u, central=correlated is False)

        with np.errstate(over="ignore"):  # A step too far on a log that is swapped: not taken.
            solved = least_squares(
                weighted, values / scale, jac=slopes, bounds=(low / scale, np.inf), method="trf",
                x_scale=1.0, ftol=tolerance, xtol=tolerance, gtol=tolerance, max_nfev=most,
            )  # fmt: skip
        values = solved.x * scale
        found = known(residuals(values))
        spread = np.array([max(_spread(each), floor) for each in found])
        times = np.array([_times(each) if correlated else 1.0 for each in found])
        before, weights = weights, [
            1.0 / (sd * np.sqrt(many)) if sd > 0 else 1e12
            for sd, many in zip(spread, times, strict=True)
        ]
        if np.allclose(before, weights, rtol=STANDS):
            break

    rows = sum(len(each) / many for each, many in zip(found, times, strict=True))
    decided = int(np.sum(~np.isfinite(believed))) or count
    freedom = rows - decided
    if not correlated:
        total = sum(float(each @ each) for each in found)
        weights = [np.sqrt(max(freedom, 1.0) / max(total, 1e-300))] * len(found)
    prior = np.diag(precision**2)
    curve = None
    if noisier:
        values, curve = unbent(residuals, noisier, values, weights, scale, low, start, precision)
        found = known(residuals(values))
    _, slope = weighed(residuals, values, weights, scale, low)
    information = slope.T @ slope
    curve = information if curve is None else curve
    turned = np.linalg.pinv(curve + prior, hermitian=True)
    covariance = turned @ (information + prior) @ turned
    if unsure is not None:
        nothing = np.zeros(unsure_count)
        moved = jacobian(lambda w: np.concatenate(known(unsure(values, w))), nothing)
        rows_weight = np.concatenate([
            np.full(len(each), weight) for each, weight in zip(found, weights, strict=True)
        ])  # fmt: skip
        shifts = turned @ (slope.T @ (moved * rows_weight[:, None]))
        covariance = covariance + shifts @ shifts.T
    each_way = np.outer(scale, scale)
    return Fit(
        values, covariance * each_way, residuals(values), spread, times, float(freedom),
        curve / each_way,
    )  # fmt: skip


def _spread(values: Numbers) -> float:
    return float(np.sqrt(np.mean(values**2))) if len(values) else 0.0


def _times(values: Numbers) -> float:
    """Rows that count as one: the integrated autocorrelation, at least 1."""
    n = len(values)
    if n < LEAST_ROWS or not np.any(values):
        return 1.0
    size = 1 << (2 * n - 1).bit_length()
    spectrum = np.fft.rfft(values - values.mean(), size)
    lags = min(LONGEST_LAG, n // 3)
    moved = np.fft.irfft(np.abs(spectrum) ** 2, size)[: lags + 1]
    if moved[0] <= 0.0:
        return 1.0
    share = moved / moved[0]
    pairs = share[1:-1:2] + share[2::2]
    ended = np.flatnonzero(pairs < 0.0)
    stop = int(ended[0]) if len(ended) else len(pairs)
    return float(max(1.0, 1.0 + 2.0 * pairs[:stop].sum()))
