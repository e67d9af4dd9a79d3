"""Tuning of random sound loops: what every proposal keeps, and what it gains.

    python -m benchmarks.tuning             # ten loops
    python -m benchmarks.tuning --loops 200 --workers 2

Each loop has its own seed. Ends with 1 where the settings of a loop break a promise and others are
proposed all the same, or where no settings at all were found for one.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from functools import partial
from typing import NamedTuple

import numpy as np

from coilward.loop.derived import derive
from coilward.loop.layout import sound
from coilward.loop.model import Loop
from coilward.simulator.engine import can_compile
from coilward.tuning.tuning import Judged, Tuned, tune
from tests.properties.loops import bent, some_loop

TODAY = date(2026, 11, 25)


def sound_loop(seed: int, number: int) -> Loop:
    """A random sound loop with a valve that moves: the same for the same seed and number."""
    rng = np.random.default_rng([seed, number])

    def between(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    while True:
        loop = some_loop(str(rng.choice(["greenhouse", "boathouse"])), between)
        loop = bent(loop, "valve", travel_s=between(0.5, 4.0), backlash=between(0.0, 2.0))
        loop = bent(loop, "meter", noise=between(0.5, 2.0))
        slower = between(0.5, 2.0)
        sensors = {
            name: each.model_copy(update={"lag_s": slower * each.lag_s})
            for name in ("coil_outlet_a", "coil_outlet_b")
            if (each := getattr(loop.sensors, name)) is not None
        }
        loop = loop.model_copy(update={"sensors": loop.sensors.model_copy(update=sensors)})
        if not sound(loop, derive(loop, TODAY)):
            return loop


class Side(NamedTuple):
    """What some settings do on a loop, at the worst."""

    sensitivity: float
    in_corner: float
    moves_1_h: float
    peak_c: float

    @classmethod
    def of(cls, judged: Judged) -> Side:
        return cls(
            max(each.sensitivity for each in judged.margins),
            max(each.sensitivity for each in judged.cornered),
            max(each.moves_1_h for each in judged.trials),
            max(each.peak_c for each in judged.trials),
        )


class Line(NamedTuple):
    """One loop."""

    was: Side
    now: Side | None
    slower: float
    dump_c: float
    regulated: int
    """Fires that the rule holds, of three."""
    error: float
    """Largest error after a surge over the present."""
    fixed: float
    """Largest error at any flow over that of fixed gains."""
    broken: list[str]
    took_s: float


def tuned_line(number: int, seed: int) -> Line:
    """Tune one loop."""
    begun_s = time.perf_counter()
    engine = "compiled" if can_compile() else "interpreted"
    tuned: Tuned = tune(sound_loop(seed, number), today=TODAY, engine=engine, seed=number + 1)
    was, now = tuned.present, tuned.proposed
    held = [k for k, each in enumerate(was.trials) if each.regulates]
    errors = [now.trials[k].surge_k_min / was.trials[k].surge_k_min for k in held] if now else []
    return Line(
        Side.of(was), Side.of(now) if now else None, tuned.slower, tuned.derived.outlet_dump_c,
        len(held), max(errors, default=float("nan")),
        float(now.against_fixed.max()) if now else float("nan"),
        [f"{c.key} {c.value:.3g} > {c.limit:.3g}" for c in tuned.checks if not c.held],
        time.perf_counter() - begun_s,
    )  # fmt: skip


def told(number: int, line: Line) -> str:
    """One loop in one line."""
    was, now = line.was, line.now
    text = f"{number:3} {line.took_s:5.1f} s  held {line.regulated}/3  Ms {was.sensitivity:.2f}"
    if now is None:
        return f"{text}  nothing proposed: {', '.join(line.broken)}"
    return (
        f"{text} -> {now.sensitivity:.2f} (corner {now.in_corner:.2f}), slower {line.slower:g}, "
        f"moves {was.moves_1_h:3.0f} -> {now.moves_1_h:2.0f}/h, surge error x {line.error:.2f}, "
        f"peak {was.peak_c:.1f} -> {now.peak_c:.1f} of {line.dump_c:.1f}, over fixed gains "
        f"x {line.fixed:.2f}"
    )


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--loops", type=int, default=10)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    typed = asked.parse_args()
    numbers = range(typed.first, typed.first + typed.loops)
    done: list[Line] = []
    with ProcessPoolExecutor(typed.workers) as pool:
        found = pool.map(partial(tuned_line, seed=typed.seed), numbers)
        for number, line in zip(numbers, found, strict=True):
            print(told(number, line), flush=True)
            done.append(line)
    good = [(line, line.now) for line in done if line.now is not None]
    print(f"\n{len(done)} loops, {len(good)} with a proposal that keeps every promise; the rule "
          f"holds {sum(line.regulated for line in done)} of {3 * len(done)} fires, at least one on "
          f"{sum(line.regulated > 0 for line in done)} loops")  # fmt: skip
    broken = Counter(each.split()[0] for line in done for each in line.broken)
    for key, count in broken.most_common():
        print(f"  {key}: broken by the last settings tried on {count}")
    if good:
        errors = [line.error for line, _ in good if line.regulated]
        print(
            f"Ms at most {max(now.sensitivity for _, now in good):.2f}, in the worst corner "
            f"{max(now.in_corner for _, now in good):.2f}; peak nearest to the dump trip "
            f"{min(line.dump_c - now.peak_c for line, now in good):.1f} K under it; moves at most "
            f"{max(now.moves_1_h for _, now in good):.0f}/h; error after a surge over the present "
            f"at most {max(errors):.2f}, median {np.median(errors):.2f}; over fixed gains at most "
            f"{max(line.fixed for line, _ in good):.2f}"
        )
    sys.exit(0 if len(good) == len(done) else 1)


if __name__ == "__main__":
    main()
