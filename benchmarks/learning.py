"""How often the intervals of `coilward learn` cover the truth, and how often bad logs are noticed.

    python -m benchmarks.learning            # all 200 logs of each kind, about half an hour
    python -m benchmarks.learning --logs 20

Every log is made by the full simulator with numbers, thermometers, noise, rounding, gaps and
lateness drawn from its seed: 0, 1, 2, and so on. Even seeds burn wood from cold until the fire is
out, odd ones hold the fire and shut the damper.
"""

from __future__ import annotations

import argparse
import time
from collections import defaultdict

from coilward.loop.errors import InputRefused
from tests.learning.trials import covered, spoiled


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--logs", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.logs)
    began_s = time.perf_counter()
    found, refused = defaultdict(list), []
    for seed in seeds:
        try:
            for key, off, half in covered(seed):
                found[key].append((abs(off) <= 1.0, half))
        except InputRefused as said:
            refused.append((seed, str(said)))
    print(f"{asked.logs} logs, {time.perf_counter() - began_s:.0f} s, "
          f"{len(refused)} good ones refused")  # fmt: skip
    for seed, said in refused:
        print(f"  {seed}: {said}")
    print(f"{'number':36} {'told':>5} {'covered':>8} {'half width':>11}")
    for key, each in sorted(found.items()):
        halves = sorted(half for _, half in each)
        share = sum(inside for inside, _ in each) / len(each)
        print(f"{key:36} {len(each):5} {100 * share:7.1f}% {100 * halves[len(halves) // 2]:10.2f}%")
    began_s = time.perf_counter()
    missed = [(seed, what) for seed in seeds for what, said in [spoiled(seed)] if not said]
    noticed = asked.logs - len(missed)
    print(f"{noticed} of {asked.logs} logs with a swapped or offset thermometer were refused, "
          f"{time.perf_counter() - began_s:.0f} s")  # fmt: skip
    for seed, what in missed:
        print(f"  {seed}: {what}")


if __name__ == "__main__":
    main()
