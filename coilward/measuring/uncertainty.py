"""Uncertainty about a measured number, after the Guide to the Expression of Uncertainty (JCGM 100).

Type A comes from repeats, type B from what is known of an instrument. Few repeats widen the
coverage factor: Welch-Satterthwaite gives the degrees of freedom, Student's t the factor. With
no end of freedom the factor is 2, which covers 95.45 %.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

Numbers = NDArray[np.float64]

COVERAGE: Final = math.erf(math.sqrt(2.0))
"""Share of a normal distribution within two standard deviations."""


class Part(NamedTuple):
    """One source of doubt: what, its standard uncertainty in the result's unit, its freedom."""

    words: str
    u: float
    freedom: float = math.inf
    """Degrees of freedom; infinite for what is known beforehand."""


@dataclass(frozen=True)
class Uncertainty:
    """The doubt about one result, in its unit."""

    parts: tuple[Part, ...]

    @property
    def u(self) -> float:
        """Combined standard uncertainty (JCGM 100, 5.1.2: independent parts)."""
        return math.sqrt(sum(part.u**2 for part in self.parts))

    @property
    def freedom(self) -> float:
        """Effective degrees of freedom (Welch-Satterthwaite, JCGM 100, G.4.1)."""
        below = sum(part.u**4 / part.freedom for part in self.parts)
        return self.u**4 / below if below else math.inf

    @property
    def factor(self) -> float:
        """Coverage factor k for 95.45 %; the freedom is rounded down (JCGM 100, G.4.1)."""
        if math.isinf(self.freedom):
            return 2.0
        whole = max(1, math.floor(self.freedom + 1e-9))
        return float(stats.t.ppf((1 + COVERAGE) / 2, whole))

    @property
    def expanded(self) -> float:
        """Expanded uncertainty U = k u."""
        return self.factor * self.u


def half_step_u(step: float) -> float:
    """Standard uncertainty of one reading of a display with such steps: a box one step wide."""
    return step / math.sqrt(12)


def pooled(groups: Sequence[Sequence[float]]) -> tuple[float, int]:
    """Standard deviation of one reading and its freedom, from repeats in several groups.

    The groups may have different means, but share their spread (JCGM 100, H.3.6). Freedom 0, and
    NaN for the deviation, where no group has two readings.
    """
    freedom = sum(len(each) - 1 for each in groups)
    if not freedom:
        return math.nan, 0
    squares = sum(float(np.var(each) * len(each)) for each in groups)
    return math.sqrt(squares / freedom), freedom


@dataclass(frozen=True)
class LineFit:
    """A straight line through points by least squares (JCGM 100, H.3)."""

    intercept: float
    slope: float
    intercept_u: float
    slope_u: float
    correlation: float
    """Of intercept and slope."""
    deviation: float
    """Standard deviation of a point from the line; 0 for two points."""
    freedom: int

    def at(self, x: float) -> float:
        """The line."""
        return self.intercept + self.slope * x

    def at_u(self, x: float) -> float:
        """Standard uncertainty of the line."""
        both = 2 * x * self.correlation * self.intercept_u * self.slope_u
        return math.sqrt(max(self.intercept_u**2 + (x * self.slope_u) ** 2 + both, 0.0))


def line_fit(x: Sequence[float], y: Sequence[float]) -> LineFit:
    """The line through at least two points at different x.

    Raises ValueError for fewer.
    """
    if len(set(x)) < 2:
        raise ValueError("a line needs points at two places")
    found = stats.linregress(x, y)
    xs, freedom = np.asarray(x, dtype=float), len(x) - 2
    left = np.asarray(y, dtype=float) - found.intercept - found.slope * xs
    deviation = math.sqrt(float(np.sum(left**2)) / freedom) if freedom else 0.0
    spread = float(np.sum((xs - xs.mean()) ** 2))
    slope_u = deviation / math.sqrt(spread)
    root = math.sqrt(float(np.mean(xs**2)))
    return LineFit(
        float(found.intercept), float(found.slope), slope_u * root, slope_u,
        -float(xs.mean()) / root if root else 0.0, deviation, freedom,
    )  # fmt: skip


class CurveFit(NamedTuple):
    """Constants of a curve with their standard uncertainties and the deviation of a point."""

    constants: tuple[float, ...]
    u: tuple[float, ...]
    deviation: float


def curve_fit(
    curve: Callable[..., Numbers], x: Sequence[float], y: Sequence[float],
    start: Sequence[float],
) -> CurveFit:  # fmt: skip
    """Least squares of a curve ``curve(x, *constants)`` through more points than constants.

    Raises ValueError where it can't be fitted.
    """
    xs, ys = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    try:
        found, spread = optimize.curve_fit(curve, xs, ys, p0=start, maxfev=20000)
    except (RuntimeError, TypeError, optimize.OptimizeWarning) as error:
        raise ValueError("no curve goes through these points") from error
    left = ys - curve(xs, *found)
    deviation = math.sqrt(float(np.sum(left**2)) / max(len(xs) - len(found), 1))
    return CurveFit(
        tuple(map(float, found)), tuple(float(each) for each in np.sqrt(np.diag(spread))), deviation
    )


def tolerance_factor(count: int, share: float = 0.99, confidence: float = 0.95) -> float:
    """One-sided normal tolerance factor: mean + factor x deviation holds that share.

    From the noncentral t distribution. Raises ValueError for fewer than two readings.
    """
    if count < 2:
        raise ValueError("a spread needs two readings")
    off = float(stats.norm.ppf(share)) * math.sqrt(count)
    return float(stats.nct.ppf(confidence, count - 1, off)) / math.sqrt(count)
