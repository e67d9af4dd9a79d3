"""The C core against the controller that it was made from, bit by bit, over very many ticks.

    python -m benchmarks.firmware host [--ticks 1000000] [--nights 500] [--hours 4] [--seed 1]
        [--compiler gcc] [--loops greenhouse boathouse hot-tub]

Random ticks, each from a state of its own, against the interpreter; then whole faulted nights,
every tick of which is recorded in closed loop and decided again by both. The first difference of
each is printed, with what shows it again. Leaves with 1 where anything differs.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import replace
from datetime import date
from itertools import count, cycle

import numba
import numpy as np

from coilward.controller.constants import constants_for
from coilward.hil.host_core import HostCore
from coilward.hil.redeciding.block import redecide
from coilward.hil.tick import asked, flat
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.proving.case import Case
from coilward.proving.stage import Stage
from coilward.simulator import closed, sensors
from coilward.simulator.engine import UNCOUNTED, _compile, cache_folder, compiled
from coilward.simulator.faults import FAULTS
from coilward.simulator.sensors import read
from coilward.simulator.slots import LATE_TICKS
from tests.firmware.wild import decided_by_python, difference, ticks_of

DAY = date(2026, 11, 25)
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

    def __init__(self, run, decide, core):
        self.run, self.decide, self.core = run, decide, core
        self.ticks, self.differs = 0, ""

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
        """All ticks of one piece of a night, block by block."""
        was = [np.array([row]).T for row in flat(state)]
        for low in range(0, len(came), BLOCK):
            block = np.ascontiguousarray(came[low : low + BLOCK].T)
            ticks = block.shape[1]
            masks = np.full(ticks, mask, np.int64)
            floats, wholes = np.empty((78, ticks)), np.empty((35, ticks), np.int64)
            state = self.decide(
                block.reshape(-1), masks, floats.reshape(-1), wholes.reshape(-1), ticks, 0, ticks,
                state, constants,
            )
            found = self.core.block(block, masks.astype(np.uint64), *was, each=False)
            self.differs = self.differs or difference(found, (floats, wholes))
            was = [found[0][:76, -1:], found[1][:30, -1:]]
            self.ticks += ticks
        if repr(flat(state)) != repr(flat(now)):
            raise AssertionError("what was noted is not what was decided on")


def random_ticks(loops, total, seed, compiler):
    """Random ticks of all loops; how many differ."""
    bad, began_s, done = 0, time.perf_counter(), 0
    cores = {name: HostCore(constants, compiler) for name, constants in loops.items()}
    for number, name in zip(count(), cycle(loops), strict=False):
        if done == total:
            break
        ticks = ticks_of(seed + number, min(BLOCK, total - done), loops[name])
        theirs = decided_by_python(ticks, loops[name], range(len(ticks.asked)))
        found = difference(cores[name].block(*ticks, each=True), theirs)
        done += len(ticks.asked)
        if found:
            bad += 1
            print(f"{name}, seed {seed + number}: core and controller: {found}")
        if number % 10 == 9 or done == total:
            print(f"  {done:,} random ticks, {time.perf_counter() - began_s:,.0f} s", flush=True)
    return bad


def nights(loops, total, long_s, seed, compiler):
    """Whole faulted nights; how many differ."""
    run, decide = noting_runner(), compiled(redecide)
    stages = {name: Stage(read_loop(name), engine="compiled", today=DAY) for name in loops}
    compared = {}
    for name, constants in loops.items():
        compared[name] = Compared(run, decide, HostCore(constants, compiler))
        stages[name].bench.run = compared[name]
    bad, done, hours, caught, began_s = 0, 0, 0.0, set(), time.perf_counter()
    for number, (fault, name) in enumerate(
        (fault, name) for _ in count() for fault in FAULTS for name in loops
    ):
        if done == total:
            break
        case = Case((fault,), number, seed)
        stage = stages[name]
        try:
            told = stage.story(case)
        except ValueError:
            continue
        told = replace(told, lasts_s=max(told.lasts_s, long_s - told.onset_s))
        outcome = stage.play_story(told)
        done += 1
        hours += (told.onset_s + told.lasts_s) / 3600.0
        caught.add(outcome.caught)
        if compared[name].differs:
            bad += 1
            print(f"{name}, {case.key}: core and controller: {compared[name].differs}")
            compared[name].differs = ""
        if done % 25 == 0 or done == total:
            ticks = sum(each.ticks for each in compared.values())
            print(f"  {done} nights, {hours:,.0f} h, {ticks:,} ticks, {len(caught)} first rows, "
                  f"{time.perf_counter() - began_s:,.0f} s", flush=True)
    return bad


def main():
    """Prints what differs; leaves with 1 where anything does."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    kinds = parser.add_subparsers(dest="where", required=True)
    host = kinds.add_parser("host", help="the core as a library of this computer")
    host.add_argument("--ticks", type=int, default=1_000_000)
    host.add_argument("--nights", type=int, default=500)
    host.add_argument("--hours", type=float, default=4.0, help="of each night, at least")
    host.add_argument("--seed", type=int, default=1)
    host.add_argument("--compiler", choices=("gcc", "zig"))
    host.add_argument("--loops", nargs="+", default=["greenhouse", "boathouse", "hot-tub"])
    told = parser.parse_args()
    loops = {}
    for name in told.loops:
        loop = read_loop(name)
        loops[name] = constants_for(loop, derive(loop, DAY))
    bad = random_ticks(loops, told.ticks, told.seed, told.compiler)
    print(f"{told.ticks:,} random ticks: {bad} blocks differ")
    bad_nights = 0
    if told.nights:
        bad_nights = nights(loops, told.nights, 3600.0 * told.hours, told.seed, told.compiler)
    print(f"{told.nights} nights: {bad_nights} differ")
    sys.exit(1 if bad or bad_nights else 0)


if __name__ == "__main__":
    main()
