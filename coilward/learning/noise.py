"""Logs with as much noise again on what drives the plant: they show what noise does to a fit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from coilward.learning.log import Log, Numbers

DRIVERS: Final = ("coil_outlet", "room")
PAIRS: Final = 2
KEPT_PERCENT, KEPT_SHARE = 95, 0.7588
"""Of second differences, without the largest, which a step may have made: what of their mean square
is left where they are normal."""


def noise_of(values: Numbers) -> float:
    """Standard deviation of what differs from row to row, rounding and all."""
    known = values[np.isfinite(values)]
    if len(known) < 3:
        return 0.0
    bends = np.abs(np.diff(known, 2))
    kept = bends[bends <= np.percentile(bends, KEPT_PERCENT)]
    return float(np.sqrt(np.mean(kept**2) / KEPT_SHARE / 6.0))


def noisier(log: Log) -> Iterator[Log]:
    """Pairs of logs with the same noise added and taken off; always the same ones."""
    rng = np.random.default_rng(1)
    names = [name for name in DRIVERS if log.has(name)]
    for _ in range(PAIRS):
        noise = {
            name: rng.normal(0.0, noise_of(log.columns[name]), len(log.time_s)) for name in names
        }
        for sign in (1.0, -1.0):
            columns = {name: log.columns[name] + sign * each for name, each in noise.items()}
            yield replace(log, columns={**log.columns, **columns})
