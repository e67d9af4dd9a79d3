"""How often the intervals of `coilward learn` cover the truth, and how often bad logs are noticed.

    python -m benchmarks.learning            # all 200 logs of each kind
    python -m benchmarks.learning --logs 20 --workers 1

Every log is made by the full simulator with numbers, thermometers, noise, rounding, gaps and
lateness drawn from its seed: 0, 1, 2, and so on. Even seeds burn wood from cold until the fire is
out, odd ones hold the fire and shut the damper; two in the greenhouse, two in the boathouse.
"""

from __future__ import annotations

import argparse
import os
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor

from coilward.loop.errors import InputRefused
from tests.learning.trials import covered, spoiled


def learned(seed: int) -> tuple[int, list[tuple[str, float, float]], str]:
    """What a good log tells, or why it is refused."""
    try:
        return seed, covered(seed), ""
    except InputRefused as said:
        return seed, [], str(said)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--logs", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.logs)
    with ProcessPoolExecutor(asked.workers) as pool:
        began_s = time.perf_counter()
        done = list(pool.map(learned, seeds))
        good(done, time.perf_counter() - began_s)
        began_s = time.perf_counter()
        answers = list(zip(seeds, pool.map(spoiled, seeds), strict=True))
        bad(answers, time.perf_counter() - began_s)


def good(done: list[tuple[int, list[tuple[str, float, float]], str]], took_s: float) -> None:
    """How often each interval covers the truth."""
    found = defaultdict(list)
    for _, numbers, _ in done:
        for key, off, half in numbers:
            found[key].append((abs(off) <= 1.0, half))
    refused = [(seed, said) for seed, _, said in done if said]
    print(f"{len(done)} logs, {took_s:.0f} s, {len(refused)} good ones refused")
    for seed, said in refused:
        print(f"  {seed}: {said}")
    print(f"{'number':36} {'told':>5} {'holds':>6} {'share':>7} {'half width':>11}")
    for key, each in sorted(found.items()):
        halves = sorted(half for _, half in each)
        holds = sum(inside for inside, _ in each)
        print(f"{key:36} {len(each):5} {holds:6} {100 * holds / len(each):6.1f}% "
              f"{100 * halves[len(halves) // 2]:10.2f}%", flush=True)  # fmt: skip


def bad(answers: list[tuple[int, tuple[str, str]]], took_s: float) -> None:
    """How often a log with a swapped or offset thermometer is noticed."""
    missed = [(seed, what) for seed, (what, said) in answers if not said]
    print(f"{len(answers) - len(missed)} of {len(answers)} logs with a swapped or offset "
          f"thermometer were refused, {took_s:.0f} s")  # fmt: skip
    for seed, what in missed:
        print(f"  {seed}: {what}")


if __name__ == "__main__":
    main()
