"""Sliding extremes and runs: what temporal formulas are reckoned with.

A window looks from each sample forward, over the samples from ``begin`` to ``end`` after it;
one that looks back is the same on the reversed list. Where a window leaves the samples, it holds
only what is left of it, and an empty one the neutral value: infinity for a least, minus
infinity for a greatest.

Sliding extremes are found by doubling: the extreme over 2 w samples is that of two windows of w.
A window of w samples takes about log2(w) vectorised passes and no loop in Python. Measured on
57,600 samples against a block-wise running extreme and `scipy.ndimage.minimum_filter1d`
(`python -m benchmarks.formulas`), it was the fastest of the three at every width tried.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Places = NDArray[np.intp]
Extreme = Literal["least", "greatest"]

NEUTRAL: dict[Extreme, float] = {"least": math.inf, "greatest": -math.inf}
PICK: dict[Extreme, np.ufunc] = {"least": np.minimum, "greatest": np.maximum}
FEW = 64
"""So many runs are quicker one by one than all at once."""


def sliding(values: Floats, begin: int, end: int, extreme: Extreme) -> Floats:
    """Extreme over the samples ``begin`` to ``end`` after each, both included."""
    count, pick = len(values), PICK[extreme]
    begin, end = min(begin, count), min(end, count)
    found = np.concatenate([values, np.full(end, NEUTRAL[extreme])])
    width, reach = end - begin + 1, 1
    while 2 * reach <= width:
        found = pick(found[:-reach], found[reach:])
        reach *= 2
    if reach < width:
        rest = width - reach
        found = pick(found[:-rest], found[rest:])
    return found[begin : begin + count]


def running(values: Floats, extreme: Extreme) -> Floats:
    """Extreme over each sample and all after it."""
    return np.asarray(PICK[extreme].accumulate(values[::-1])[::-1])


class Runs(NamedTuple):
    """Where flags are up: from each start up to, but without, the end beside it."""

    starts: Places
    ends: Places


def runs_of(flags: Flags) -> Runs:
    """All runs of flags that are up."""
    edges = np.flatnonzero(flags[1:] != flags[:-1]) + 1
    if flags[0]:
        edges = np.concatenate([[0], edges])
    if flags[-1]:
        edges = np.concatenate([edges, [len(flags)]])
    return Runs(edges[::2], edges[1::2])


def flags_of(runs: Runs, count: int) -> Flags:
    """The flags that have these runs."""
    flags = np.zeros(count, np.bool_)
    if len(runs.starts) <= FEW:
        for start, end in zip(runs.starts.tolist(), runs.ends.tolist(), strict=True):
            flags[start:end] = True
        return flags
    steps = np.zeros(count + 1, np.int8)
    steps[runs.starts] = 1
    steps[runs.ends] -= 1
    return np.cumsum(steps[:-1], dtype=np.int8).view(np.bool_)


def stretched(runs: Runs, by_start: int, by_end: int, count: int) -> Runs:
    """Runs with their ends moved as far as their starts, or further; those that meet are one."""
    starts = np.clip(runs.starts + by_start, 0, count)
    ends = np.clip(runs.ends + by_end, 0, count)
    some = starts < ends
    starts, ends = starts[some], ends[some]
    apart = starts[1:] > ends[:-1]
    first = np.concatenate([[True], apart])[: len(starts)]
    last = np.concatenate([apart, [True]])[: len(ends)]
    return Runs(starts[first], ends[last])


def lengths_at(runs: Runs, places: Places) -> Places:
    """For how many samples, this one included, the run at each place has lasted; 0 outside."""
    if len(runs.starts) == 0:
        return np.zeros(len(places), np.intp)
    index = np.searchsorted(runs.starts, places, "right") - 1
    inside = (index >= 0) & (places < runs.ends[index])
    return np.where(inside, places - runs.starts[index] + 1, 0)
