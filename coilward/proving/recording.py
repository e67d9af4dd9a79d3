"""Signals of one run, and what has been found out about them so far."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from coilward.proving.bits import Bits, all_bits, one_run, packed, unpacked
from coilward.proving.windows import Floats, Places, Runs, runs_of

if TYPE_CHECKING:
    from coilward.proving.formulas import Formula

class Recording:
    """Signals of one run, by name, and what has been found out about them so far."""

    def __init__(self, signals: Mapping[str, Floats]) -> None:
        """Raises ValueError for signals that are empty or of different lengths."""
        lengths = {len(values) for values in signals.values()}
        if len(lengths) != 1 or 0 in lengths:
            raise ValueError(f"signals need one length of at least 1 sample, not {sorted(lengths)}")
        self.count = lengths.pop()
        self.everywhere = all_bits(self.count)
        self._signals = signals
        self._lows: dict[str, float] = {}
        self._highs: dict[str, float] = {}
        self._held: dict[tuple[Formula, bool], Bits] = {}
        self._runs: dict[Formula, Runs] = {}

    def signal(self, name: str) -> Floats:
        """A signal; ValueError where it holds NaN or is not there."""
        self.vouch(name)
        return self._signals[name]

    def low(self, name: str) -> float:
        """Its least value; ValueError where it holds NaN or is not there."""
        if name not in self._lows:
            self._lows[name] = self._checked(name, float(np.minimum.reduce(self._found(name))))
        return self._lows[name]

    def high(self, name: str) -> float:
        """Its greatest value; ValueError where it holds NaN or is not there."""
        if name not in self._highs:
            self._highs[name] = self._checked(name, float(np.maximum.reduce(self._found(name))))
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

    def holds(self, formula: Formula, strict: bool = False) -> Bits:
        """Where a formula's robustness is at least 0, or over 0."""
        key = (formula, strict)
        if key not in self._held:
            self._held[key] = formula._holds(self, strict)
        return self._held[key]

    def least(self, formula: Formula) -> float:
        """Least robustness of a formula over all samples."""
        return formula._least(self, self.everywhere)

    def runs(self, formula: Formula) -> Runs:
        """The runs in which it holds."""
        if formula not in self._runs:
            self._runs[formula] = runs_of(unpacked(self.holds(formula), self.count))
        return self._runs[formula]

    def longest(self, formula: Formula) -> int:
        """Samples of the longest run in which it holds."""
        held = self.holds(formula)
        if (run := one_run(held)) is not None:
            return run[1] - run[0]
        if not held:
            return 0
        runs = self.runs(formula)
        return int((runs.ends - runs.starts).max())

    def places(self, bits: Bits) -> Places:
        """The samples at which bits are set."""
        return np.flatnonzero(unpacked(bits, self.count))

    def where(self, values: Floats, strict: bool) -> Bits:
        """Where values are at least 0, or over 0."""
        return packed(values > 0.0 if strict else values >= 0.0)
