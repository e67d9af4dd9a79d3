"""A pretended plain board that writes down, tick by tick, what is true of the coil behind it.

    python -m tests.hil.watched_board truth.csv greenhouse --on tcp --today 2026-11-27

A row is: time of the tick, wall clock, 1 where it was answered, the pump as it is told, 1 where
the coil is dry, seconds for which still water has boiled, the hottest wall over boiling. The truth
is of the moment before the pump is told.
"""

from __future__ import annotations

import sys
import time
from typing import NamedTuple

from coilward.hil import plain_board
from coilward.simulator import slots as at


class Truth(NamedTuple):
    """One row."""

    time_s: float
    wall_s: float
    answered: float
    pump: float
    dry: float
    boiling_still_s: float
    over_boiling_k: float


def rows_of(path):
    """The whole rows of such a file; one that was being written is left out."""
    with open(path, encoding="utf-8") as file:
        lines = [line for line in file if line.endswith("\n")]
    return [Truth(*map(float, line.split(","))) for line in lines]


class Watched(plain_board.PlainBoard):
    """The board, with somebody who writes."""

    def decide(self, readings, requests, state, constants):
        done = super().decide(readings, requests, state, constants)
        if readings.time_s >= 0.0:
            y = self.rehearsal.y
            hottest_c = max(y[at.WALL_ : at.WALL_ + at.COIL_CELLS])
            row = Truth(
                readings.time_s, time.time(), self.alone_s == 0.0, done.commands.pump,
                y[at.DRY], y[at.BOILING_STILL_S], hottest_c - self.rehearsal.p[at.BOIL_C],
            )  # fmt: skip
            self.file.write(",".join(map(repr, map(float, row))) + "\n")
        return done


if __name__ == "__main__":
    path, *arguments = sys.argv[1:]
    with open(path, "w", encoding="utf-8", buffering=1) as Watched.file:
        plain_board.PlainBoard = Watched
        plain_board.main(arguments)
