"""Tuning of random sound loops: what every proposal keeps, and what it gains.

    python -m benchmarks.tuning             # ten loops
    python -m benchmarks.tuning --loops 200 --engine compiled
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from datetime import date

import numpy as np
from hypothesis import HealthCheck, Phase, given, seed, settings

from coilward.loop.derived import derive
from coilward.loop.layout import sound
from coilward.loop.model import Loop
from coilward.tuning.tuning import Tuned, tune
from tests.properties.loops import loops

TODAY = date(2026, 11, 25)


def sound_loops(count: int, number: int) -> list[Loop]:
    """Random sound loops with a valve that moves, the same for the same number."""
    found: list[Loop] = []

    @seed(number)
    @settings(
        max_examples=20 * count, deadline=None, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(loops())
    def gather(loop: Loop) -> None:
        fits = len(found) < count and loop.room.kind == "room" and loop not in found
        if fits and not sound(loop, derive(loop, TODAY)):
            found.append(loop)

    gather()
    return found


def line(number: int, tuned: Tuned, took_s: float) -> str:
    """One loop in one line."""
    was, now = tuned.present, tuned.proposed
    ms = max(each.sensitivity for each in was.margins)
    text = f"{number:3} {tuned.loop.name:10} {took_s:5.1f} s  Ms {ms:.2f}"
    if now is None:
        broken = [f"{c.key} {c.value:.3g}>{c.limit:.3g}" for c in tuned.checks if not c.held]
        return f"{text}  nothing proposed: {', '.join(broken)}"
    pairs = [pair for pair in zip(was.trials, now.trials, strict=True) if pair[0].regulates]
    ratio = max((b.surge_k_min / a.surge_k_min for a, b in pairs), default=float("nan"))
    return (
        f"{text} -> {max(each.sensitivity for each in now.margins):.2f}"
        f" (corner {max(each.sensitivity for each in now.cornered):.2f}), slower {tuned.slower:g}"
        f", moves {max(t.moves_1_h for t in was.trials):3.0f} ->"
        f" {max(t.moves_1_h for t in now.trials):2.0f}/h, surge error x {ratio:.2f}, peak"
        f" {max(t.peak_c for t in was.trials):.1f} -> {max(t.peak_c for t in now.trials):.1f}"
        f" of {tuned.derived.outlet_dump_c:.1f}, fixed gains x {1 / now.against_fixed.max():.2f}"
        f" to {1 / now.against_fixed.min():.1f}"
    )


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--loops", type=int, default=10)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--engine", default="auto")
    typed = asked.parse_args()
    every, done, broken = sound_loops(typed.loops, typed.seed), [], Counter()
    for number, loop in enumerate(every, start=1):
        begun_s = time.perf_counter()
        tuned = tune(loop, today=TODAY, engine=typed.engine, seed=number)
        print(line(number, tuned, time.perf_counter() - begun_s), flush=True)
        done.append(tuned)
        broken.update(c.key for c in tuned.checks if not c.held)
    good = [each for each in done if each.proposed is not None]
    print(f"\n{len(done)} loops, {len(good)} with a proposal that keeps every promise")
    for key, count in broken.most_common():
        print(f"  {key}: broken by the last settings tried on {count}")
    if good:
        most = [max(m.sensitivity for m in each.proposed.margins) for each in good]
        corner = [max(m.sensitivity for m in each.proposed.cornered) for each in good]
        moves = [max(t.moves_1_h for t in each.proposed.trials) for each in good]
        print(f"Ms at most {max(most):.2f}, in the worst corner {max(corner):.2f}; "
              f"moves at most {max(moves):.0f}/h, median {np.median(moves):.0f}")  # fmt: skip


if __name__ == "__main__":
    main()
