"""The hunt under the shipped logic: nothing that is promised may be violated.

    python -m benchmarks.hunted [--runs 100000] [--seed 1] [--loops NAMES] [--without FAULTS]

Each loop gets as many nights, in rounds that begin anew with another seed. Ends with 1 where
something escapes, and prints the command that shows it.
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

TODAY = date(2026, 11, 25)
ROUND = 5000


def main():
    """Prints a line a loop."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--loops", default="boathouse,greenhouse,hot-tub")
    parser.add_argument("--without", default="", help="faults to leave out, commas between")
    asked = parser.parse_args()
    faults = [name for name in FAULTS if name not in asked.without.split(",")]
    escaped = 0
    for name in asked.loops.split(","):
        stage = Stage(read_loop(name), engine="compiled", today=TODAY)
        began_s = time.perf_counter()
        runs = invalid = 0
        least, worst = 1e9, None
        while runs < asked.runs:
            found = hunt(
                stage, runs=min(ROUND, asked.runs - runs), seed=asked.seed + runs // ROUND,
                faults=faults,
            )
            runs += found.runs
            invalid += found.invalid
            if found.worst is not None and found.worst.least < least:
                least, worst = found.worst.least, found.worst
            if found.escaped:
                break
        minutes = (time.perf_counter() - began_s) / 60.0
        print(f"{name:11s} {runs:7,} nights, {invalid:,} invalid, {runs / minutes:7,.0f} a minute")
        if found.astray:
            print(f"            never in {found.astray.phase}, stands in {found.astray.stood}")
            escaped += 1
        if worst is not None:
            missed = ", ".join(worst.outcome.missed) or "nothing"
            print(f"            least {least:.3f} of {worst.what}; violated: {missed}; "
                  f"coilward rehearse {name} --case {worst.case.key} --on {TODAY}")
            escaped += worst.outcome.escaped
    sys.exit(1 if escaped else 0)


if __name__ == "__main__":
    main()
