"""Signals of one run, and what has been found out about them so far."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from coilward.proving.windows import Flags, Floats, Runs, runs_of

if TYPE_CHECKING:
    from coilward.proving.formulas import Formula

Mask = bool | Flags
"""Flags, one a sample, or one for all."""


class Recording:
    """Signals of one run, by name, and what has been found out about them so far."""

    def __init__(self, signals: Mapping[str, Floats]) -> None:
        """Raises ValueError for signals that are empty or of different lengths."""
        lengths = {len(values) for values in signals.values()}
        if len(lengths) != 1 or 0 in lengths:
            raise ValueError(f"signals need one length of at least 1 sample, not {sorted(lengths)}")
        self.count = lengths.pop()
        self._signals = signals
        self._lows: dict[str, float] = {}
        self._highs: dict[str, float] = {}
        self._masks: dict[tuple[Formula, bool], Mask] = {}
        self._runs: dict[tuple[Formula, bool], Runs] = {}

    def signal(self, name: str) -> Floats:
        """A signal; ValueError where it holds NaN or is not there."""
        self.vouch(name)
        return self._signals[name]

    def low(self, name: str) -> float:
        """Its least value; ValueError where it holds NaN or is not there."""
        if name not in self._lows:
            self._lows[name] = self._checked(name, float(self._found(name).min()))
        return self._lows[name]

    def high(self, name: str) -> float:
        """Its greatest value; ValueError where it holds NaN or is not there."""
        if name not in self._highs:
            self._highs[name] = self._checked(name, float(self._found(name).max()))
        return self._highs[name]

    def starts_at(self, name: str) -> float:
        """Its first value, unchecked: a hint where to look."""
        return float(self._found(name)[0])

    def _found(self, name: str) -> Floats:
        if name not in self._signals:
            raise ValueError(f"there is no signal {name!r}, only {', '.join(self._signals)}")
        return self._signals[name]

    def _checked(self, name: str, extreme: float) -> float:
        if math.isnan(extreme):
            sample = int(np.isnan(self._signals[name]).argmax())
            raise ValueError(
                f"signal {name!r} is NaN at sample {sample}; "
                "what is true of a plant is never unknown"
            )
        return extreme

    def vouch(self, name: str) -> None:
        """ValueError where a signal holds NaN or is not there."""
        if name not in self._lows and name not in self._highs:
            self.low(name)

    def holds(self, formula: Formula, strict: bool = False) -> Mask:
        """Where a formula's robustness is at least 0, or over 0."""
        key = (formula, strict)
        if key not in self._masks:
            self._masks[key] = formula._holds(self, strict)
        return self._masks[key]

    def least(self, formula: Formula) -> float:
        """Least robustness of a formula over all samples."""
        return formula._least(self, True)

    def runs(self, formula: Formula, strict: bool = False) -> Runs:
        """The runs in which it holds."""
        key = (formula, strict)
        if key not in self._runs:
            self._runs[key] = self.runs_of(self.holds(formula, strict))
        return self._runs[key]

    def runs_of(self, mask: Mask) -> Runs:
        """The runs of a mask."""
        if isinstance(mask, np.ndarray):
            return runs_of(mask)
        none = np.zeros(0, np.intp)
        return Runs(none, none) if not mask else Runs(np.array([0]), np.array([self.count]))


def neither(mask: Mask) -> Mask:
    """Where it does not hold."""
    return ~mask if isinstance(mask, np.ndarray) else not mask


def some(mask: Mask) -> bool:
    """Whether it holds anywhere."""
    return bool(mask.any()) if isinstance(mask, np.ndarray) else mask


def both(a: Mask, b: Mask) -> Mask:
    """Where both hold; False as soon as that is nowhere."""
    if isinstance(a, np.ndarray) and isinstance(b, np.ndarray):
        both = a & b
        return both if both.any() else False
    if isinstance(a, np.ndarray):
        return a if b and a.any() else False
    if isinstance(b, np.ndarray):
        return b if a and b.any() else False
    return a and b
