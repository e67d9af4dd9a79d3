"""What two logics decide differently: the first of each kind told whole, the others counted."""

from __future__ import annotations

from collections import Counter
from textwrap import fill

import numpy as np

from coilward.controller.types import Readings
from coilward.hil.tick import FLOATS, WHOLES
from tests.firmware.wild import NAMES, Ticks, bits


class Differing:
    """Of one core; a kind is the first number of a tick that differs."""

    def __init__(self):
        self.kinds, self.ticks = Counter(), 0

    def hold(self, ticks: Ticks, found, theirs, where: str, again: str, *, each: bool) -> None:
        """Looks at a block. Where not ``each``, what follows a first difference follows from it."""
        differs = bits(*found) != bits(*theirs)
        self.ticks += differs.shape[1]
        for tick in np.flatnonzero(differs.any(axis=0)):
            kind = NAMES[int(np.argmax(differs[:, tick]))]
            self.kinds[kind] += 1
            if self.kinds[kind] == 1:
                before = rows(ticks.floats, ticks.wholes, tick) if each or tick == 0 else \
                    rows(theirs[0][: len(FLOATS)], theirs[1][: len(WHOLES)], tick - 1)
                print(f"{where}, tick {tick}: {kind} and {differs[:, tick].sum() - 1} more differ")
                print(f"  shown again by: {again}")
                for row in np.flatnonzero(differs[:, tick]):
                    one, other = (rows(*each, tick)[row] for each in (found, theirs))
                    print(f"    {NAMES[row]}: core {told(one)}, controller {told(other)}")
                print(words("readings", Readings._fields, ticks.came[:, tick].tolist()))
                print(f"    requests: {int(ticks.asked[tick]):#x}")
                print(words("state before", (*FLOATS, *WHOLES), before))
                alike = "decided by the controller, and but for those numbers by the core"
                print(words(alike, NAMES, rows(*theirs, tick)), flush=True)
            if not each:
                return

    def summary(self) -> str:
        """Every kind, and how often."""
        kinds = ", ".join(f"{kind} {count:,}" for kind, count in self.kinds.most_common())
        return f"{self.ticks:,} ticks decided, {self.kinds.total():,} mismatches {kinds}".rstrip()


def rows(floats, wholes, tick):
    """A column as numbers."""
    return [*floats[:, tick].tolist(), *wholes[:, tick].tolist()]


def told(value):
    """A number whose every bit shows."""
    return f"{value!r} ({value.hex()})" if isinstance(value, float) else str(value)


def words(about, names, values):
    text = ", ".join(f"{name} {value!r}" for name, value in zip(names, values, strict=True))
    return fill(f"{about}: {text}", 100, initial_indent="    ", subsequent_indent="      ")
