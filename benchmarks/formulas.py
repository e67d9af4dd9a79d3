"""What the requirements cost on a burn of four hours, and whether the algebra agrees with rtamt.

    python -m benchmarks.formulas                  # times, on 57,600 samples
    python -m benchmarks.formulas --agree 10000    # random traces against rtamt

Times are the best of some runs, by the processor's time. The ratio is against the same formulas by
their definition, sample by sample, in the same run.
"""

from __future__ import annotations

import argparse
import math
import time
from datetime import date

import numpy as np
from scipy.ndimage import minimum_filter1d

from coilward.controller.constants import constants_for
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.proving.bounds import bounds_of
from coilward.proving.recording import Recording
from coilward.proving.requirements import Signals, prepared, robustness
from coilward.proving.robustness import robustness_by_definition
from coilward.proving.windows import running, sliding
from tests.proving.agreement import farthest, random_pairs, shipped_pairs
from tests.proving.burns import SAMPLES, burns

TODAY = date(2026, 11, 25)
WITHIN = 1e-9


def best_us(call, rounds, calls=1):
    """Best of some rounds, microseconds a call."""
    found = math.inf
    for _ in range(rounds):
        began_s = time.process_time()
        for _ in range(calls):
            call()
        found = min(found, (time.process_time() - began_s) / calls)
    return 1e6 * found


def by_blocks(values, width):
    """Least of ``width`` samples by running extremes from both sides of blocks (van Herk)."""
    count = len(values)
    padded = np.concatenate([values, np.full(-count % width + width, math.inf)])
    blocks = padded.reshape(-1, width)
    ahead = np.minimum.accumulate(blocks, axis=1).ravel()
    behind = np.minimum.accumulate(blocks[:, ::-1], axis=1)[:, ::-1].ravel()
    return np.minimum(behind[:count], ahead[width - 1 : width - 1 + count])


def windows():
    """The three ways to a sliding least."""
    values = np.random.default_rng(1).normal(size=SAMPLES)
    print(f"sliding least of {SAMPLES} samples, us: doubling, blocks, scipy.ndimage")
    for width in (5, 20, 241, 1201):
        ours, blocks = sliding(values, 0, width - 1, "least"), by_blocks(values, width)
        if not np.array_equal(ours, blocks):
            raise RuntimeError(f"two ways to a least over {width} samples differ")
        ways = (
            lambda w=width: sliding(values, 0, w - 1, "least"),
            lambda w=width: by_blocks(values, w),
            lambda w=width: minimum_filter1d(values, w),
        )
        took = "".join(f"{best_us(way, 20, 5):8.0f}" for way in ways)
        print(f"  {width:5d} samples {took}")
    print(f"  no bound      {best_us(lambda: running(values, 'least'), 9):8.0f}")


def costs():
    """All requirements together, and the dearest of them alone."""
    loop = read_loop("boathouse")
    derived = derive(loop, TODAY)
    bounds = bounds_of(loop, derived, constants_for(loop, derived))
    print(f"all requirements on {SAMPLES} samples, us; the dearest alone; times the definition")
    for name, signals in burns(bounds).items():
        fields = dict(zip(Signals._fields, signals, strict=True))
        together = best_us(lambda s=signals: robustness(s, bounds), 40, 5)
        alone = {
            p.name: best_us(lambda p=p, f=fields: p.formula.first(Recording(f)), 10, 3)
            for p in prepared(bounds)
        }
        slow_us = sum(
            best_us(lambda p=p, f=fields: robustness_by_definition(p.formula, f), 1)
            for p in prepared(bounds)
        )
        dearest = max(alone, key=alone.get)
        print(f"  {name:22s} {together:6.0f} us   {dearest} {alone[dearest]:.0f} us   "
              f"ratio {slow_us / together:,.0f}")


def agree(count):
    """So many random traces, a fifth of them through the shipped requirements."""
    shipped = count // 5
    worst, broken, began_s = 0.0, 0, time.perf_counter()
    for pairs in (random_pairs(count - shipped, seed=1), shipped_pairs(shipped, seed=2)):
        for _, formula, oracle, signals in pairs:
            far = farthest(formula, oracle, signals)
            worst, broken = max(worst, far), broken + (far > WITHIN)
    print(f"{count} traces ({shipped} of them of shipped requirements): farthest apart {worst:g}, "
          f"{broken} beyond {WITHIN:g}, in {time.perf_counter() - began_s:.0f} s")


def main():
    """Times, or agreement."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--agree", type=int, metavar="TRACES")
    count = parser.parse_args().agree
    if count is None:
        windows()
        costs()
    else:
        agree(count)


if __name__ == "__main__":
    main()
