"""Mistakes seeded in the logic: who catches each?

    python -m benchmarks.mistakes [--loops NAMES] [--only 3,17] [--workers 2] [--no-tests]

Four hunters, each on a private copy of the project with one mistake in it: the campaign (ten
cases a fault, then all pairs of faults), the hunt for the worst night (300 nights), the
properties and controller tests, and the search through the finite part. Campaign and hunt go from
one shipped loop to the next until one of them has caught it. A mistake counts as caught by the
campaign only by a fault or pair that ends well under the shipped logic, and by the hunt only by a
night in which that misses nothing of the same.
Prints a line a mistake and the share that each catches; ends with 1 where nobody caught one.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Lock

from benchmarks.copying import PYTEST, copy_project
from benchmarks.hunters import TODAY, campaign
from coilward.loop.document import read_loop
from coilward.proving.case import parse_case
from coilward.proving.stage import Stage
from tests.proving.mistakes import MISTAKES
from tests.proving.planted import replaced

PROPERTIES = (
    "tests/controller", "tests/properties/test_decide.py", "tests/properties/test_board_machine.py",
)
FINITE = (
    "tests/properties/test_finite.py::test_everything_is_shown",
    "tests/properties/test_induction.py",
)
CASES, RUNS = 10, 300
LATE_S = 1800.0
"""Whoever takes longer is stopped, and counts as having caught nothing."""


def plant(defect, copy):
    """The mistake into the sources of a copy."""
    for file in {edited for edited, _, _ in defect.edits}:
        path = copy / "coilward" / "controller" / file
        path.write_text(replaced(defect, file, path.read_text("utf-8")), "utf-8")


def ran(command, copy, **environment):
    """What a command in the copy prints, and its exit status; nothing where it was too slow."""
    here = {"PYTHONPATH": str(copy), "NUMBA_CACHE_DIR": str(copy / "compiled")}
    try:
        done = subprocess.run(
            command, cwd=copy, env={**os.environ, **here, **environment}, capture_output=True,
            text=True, timeout=LATE_S, check=False,
        )
    except subprocess.TimeoutExpired:
        return 0, ""
    return done.returncode, done.stdout + (done.stderr if done.returncode else "")


def played(copy, loop):
    """What the campaign and the hunt found in the copy. Raises RuntimeError where they died."""
    status, said = ran(
        [sys.executable, "-m", "benchmarks.hunters", "--loop", loop, "--cases", str(CASES),
         "--runs", str(RUNS)], copy,
    )
    if status:
        raise RuntimeError(said[-2000:])
    return json.loads(said.splitlines()[-1]) if said else {"campaign": [], "hunt": {}}


def tested(copy, paths):
    """The first of these tests that fails in the copy."""
    _, said = ran([*PYTEST, *paths], copy, NUMBA_DISABLE_JIT="1")
    failed = [line for line in said.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return failed[0].split(" - ")[0].split("::")[-1] if failed else ""


class Shipped:
    """What the shipped logic does on one loop."""

    def __init__(self, name):
        self.name, loop = name, read_loop(name)
        self.stage = Stage(loop, engine="compiled", today=TODAY)
        self.badly = {*campaign(loop, CASES, False), *campaign(loop, 1, True)}
        self.one_at_a_time = Lock()

    def left_over(self, found):
        """What campaign and hunt have found, but for what the shipped logic does as well."""
        night, astray = found["hunt"].get("night"), found["hunt"].get("astray")
        hunted = f"never in {astray}" if astray else ""
        if night:
            with self.one_at_a_time:
                missed = self.stage.play(parse_case(night[0])).missed
            hunted = night[0] if set(night[1]) - set(missed) else hunted
        caught = next((what for what in found["campaign"] if what not in self.badly), "")
        return {"campaign": caught, "hunt": hunted}


def attempt(defect, every, tests):
    """What each hunter shows for one mistake, on which loop, and the seconds that it took."""
    began_s = time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="mistake-") as folder:
        copy = Path(folder)
        copy_project(copy)
        plant(defect, copy)
        for shipped in every:
            by = shipped.left_over(played(copy, shipped.name))
            if any(by.values()):
                break
        by["properties"] = tested(copy, PROPERTIES) if tests else ""
        by["search"] = tested(copy, FINITE) if tests else ""
    return shipped.name, by, time.perf_counter() - began_s


def main():
    """Prints a line a mistake, then the shares."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--loops", default="greenhouse,hot-tub,boathouse")
    parser.add_argument("--only", default="")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--no-tests", dest="tests", action="store_false")
    asked = parser.parse_args()
    chosen = [int(k) for k in asked.only.split(",") if k] or range(len(MISTAKES))
    every = [Shipped(name) for name in asked.loops.split(",")]
    caught: Counter[str] = Counter()
    nobody = 0
    with ThreadPoolExecutor(asked.workers) as pool:
        tries = pool.map(lambda number: attempt(MISTAKES[number], every, asked.tests), chosen)
        for number, (loop, by, took_s) in zip(chosen, tries, strict=True):
            caught.update(name for name, what in by.items() if what)
            caught["campaign or hunt"] += bool(by["campaign"] or by["hunt"])
            nobody += not any(by.values())
            shown = "; ".join(f"{name}: {what}" for name, what in by.items() if what) or "nobody"
            print(
                f"{number:3d} {MISTAKES[number].name:55s} {took_s:5.0f} s  {loop}  {shown}",
                flush=True,
            )
    for name, count in caught.items():
        print(f"{name}: {count} of {len(chosen)} ({100 * count / len(chosen):.0f} %)")
    sys.exit(1 if nobody else 0)


if __name__ == "__main__":
    main()
