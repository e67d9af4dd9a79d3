"""Nights of which every tick is noted in closed loop, and decided again by a core."""

from __future__ import annotations

import numba
import numpy as np

from coilward.hil.host_core import OUT_FLOATS, OUT_WHOLES
from coilward.hil.tick import FLOATS, WHOLES, asked, flat
from coilward.simulator import closed, sensors
from coilward.simulator.engine import UNCOUNTED, _compile, cache_folder
from coilward.simulator.sensors import read
from coilward.simulator.slots import LATE_TICKS
from tests.firmware.wild import Ticks

BLOCK = 10_000
CHANNELS = 25


def noting(y, p, time_s):
    """The readings of a tick, noted behind the plant's own numbers."""
    readings = read(y, p, time_s)
    at = int(y[-2]) + int(y[-1]) * 25
    for channel in range(25):
        y[at + channel] = readings[channel]
    y[-1] += 1.0
    return readings


def noting_runner():
    """`closed.run_until`, compiled, with every reading noted."""
    numba.config.CACHE_DIR = str(cache_folder(closed.run_until, numba.__version__) / "noting")
    packages, done = {"coilward"}, {}
    scope_read = _compile(sensors.read, packages, done, cached=False)
    own = dict(noting.__globals__, read=scope_read)
    copy = type(noting)(noting.__code__, own, "noting")
    done[sensors.read] = numba.njit(error_model="numpy", **UNCOUNTED)(copy)
    return _compile(closed.run_until, packages, done, cached=False)


class Compared:
    """In the place of a bench's engine: runs it, and lets the core decide every tick again."""

    def __init__(self, run, decide, core, differing):
        self.run, self.decide, self.core = run, decide, core
        self.differing = differing
        self.where = self.again = ""
        """Of the night that is played."""

    def __call__(self, y, p, noise, trace, signals, log, state, constants, requests, tick, until,
                 awake):
        room = CHANNELS * (until - tick)
        noted = np.concatenate([y, np.zeros(room), [float(len(y)), 0.0]])
        after, rows, now = self.run(
            noted, p, noise, trace, signals, log, state, constants, requests, tick, until, awake
        )
        y[:] = noted[: len(y)]
        came = noted[len(y) : len(y) + CHANNELS * (after - tick)].reshape(-1, CHANNELS)
        every = 1 + int(p[LATE_TICKS] + 0.5)
        numbers = np.arange(tick, after)
        decided = numbers[(numbers % every == 0) | (every == 1)] - tick
        if awake and len(decided):
            self.compare(came[decided], asked(requests), state, now, constants)
        return after, rows, now

    def compare(self, came, mask, state, now, constants):
        """All ticks of one piece of a night, block by block, each from the tick before it."""
        was = [np.array([row]).T for row in flat(state)]
        for low in range(0, len(came), BLOCK):
            block = np.ascontiguousarray(came[low : low + BLOCK].T)
            ticks = block.shape[1]
            masks = np.full(ticks, mask, np.int64)
            floats, wholes = np.empty((OUT_FLOATS, ticks)), np.empty((OUT_WHOLES, ticks), np.int64)
            state = self.decide(
                block.reshape(-1), masks, floats.reshape(-1), wholes.reshape(-1), ticks, 0, ticks,
                state, constants,
            )
            given = Ticks(block, masks.astype(np.uint64), *was)
            found = self.core.block(*given, each=False)
            at_s = f"{self.where}, from {block[0, 0]:.2f} s on"
            self.differing.hold(given, found, (floats, wholes), at_s, self.again, each=False)
            was = [found[0][: len(FLOATS), -1:], found[1][: len(WHOLES), -1:]]
        if repr(flat(state)) != repr(flat(now)):
            raise AssertionError("what was noted is not what was decided on")
