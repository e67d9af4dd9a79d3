"""Ten defects planted in the logic: after how many nights does the hunt find each?

    python -m benchmarks.planted [--runs 300] [--seed 1] [--loop greenhouse] [--without NAMES]

Interpreted, one after the other; a few minutes. Ends with 1 where one is not found, or where
the night that shows it shows the same under the shipped logic: that would be no find.
"""

from __future__ import annotations

import argparse
import sys
import time
from datetime import date

from coilward.loop.document import read_loop
from coilward.proving.hunt import hunt
from coilward.proving.stage import Stage
from coilward.simulator.faults import FAULTS
from tests.proving.planted import PLANTED, planted

TODAY = date(2026, 11, 25)


def main():
    """Prints a line a defect."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--loop", default="greenhouse")
    parser.add_argument("--without", default="", help="faults to leave out, commas between")
    asked = parser.parse_args()
    faults = [name for name in FAULTS if name not in asked.without.split(",")]
    loop = read_loop(asked.loop)
    shipped = Stage(loop, engine="interpreted", today=TODAY)
    unfound = 0
    for defect in PLANTED:
        began_s = time.perf_counter()
        stage = Stage(loop, today=TODAY, logic=planted(defect))
        found = hunt(stage, runs=asked.runs, seed=asked.seed, faults=faults)
        lasted_s = time.perf_counter() - began_s
        by = "not found"
        if found.astray:
            by = f"never in {found.astray.phase}, stands in {found.astray.stood}"
        elif found.escaped:
            sound = shipped.play(found.worst.case)
            same = set(found.worst.outcome.missed) & set(sound.missed)
            by = f"{found.worst.case.key}: {', '.join(found.worst.outcome.missed)}"
            by += f" (but {', '.join(sorted(same))} under the shipped logic too)" if same else ""
            unfound += bool(same)
        else:
            unfound += 1
        print(f"{defect.name:50s} {found.runs:4d} nights {lasted_s:5.0f} s  {by}", flush=True)
    sys.exit(1 if unfound else 0)


if __name__ == "__main__":
    main()
