"""Mistakes seeded in the logic: who catches each?

    python -m benchmarks.mistakes [--loop greenhouse] [--only 3,17] [--runs 300] [--tests]

Four hunters, each on a private copy of the logic with one mistake in it: the campaign (two
cases a fault, until one escapes that the shipped logic survives), the hunt for the worst night,
the properties and controller tests, and the search through the finite part. Prints a line a
mistake and the share that each catches; ends with 1 where nobody caught one. Interpreted.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import date
from pathlib import Path

from benchmarks.copying import copy_project
from coilward.loop.document import read_loop
from coilward.proving.case import Case
from coilward.proving.hunt import hunt
from coilward.proving.stage import Stage
from coilward.simulator.faults import FAULTS, lacking
from tests.proving.mistakes import MISTAKES
from tests.proving.planted import planted

TODAY = date(2026, 11, 25)
PROPERTIES = (
    "tests/controller", "tests/properties/test_decide.py", "tests/properties/test_board_machine.py",
)
FINITE = ("tests/properties/test_finite.py", "tests/properties/test_induction.py")
CASES = 2
LATE_S = 900.0
"""Tests that take longer are killed, and count as having caught nothing."""


def campaign(stage, shipped):
    """The first case that escapes under the mistake and not under the shipped logic."""
    for index in range(CASES):
        for fault in FAULTS.values():
            if fault.unshown or lacking(fault, stage.loop):
                continue
            case = Case((fault.name,), index, 1)
            missed = set(stage.play(case).missed)
            if missed and missed - set(shipped.play(case).missed):
                return case.key
    return ""


def hunted(stage, shipped, runs):
    """The hunt's find, where it is one."""
    found = hunt(stage, runs=runs, seed=1)
    if found.astray:
        return f"never in {found.astray.phase}"
    if found.escaped:
        sound = shipped.play(found.worst.case)
        if set(found.worst.outcome.missed) - set(sound.missed):
            return found.worst.case.key
    return ""


def tested(defect, paths):
    """Whether tests fail on a copy of the project with the mistake in its sources."""
    with tempfile.TemporaryDirectory(prefix="mistake-") as folder:
        copy = Path(folder)
        copy_project(copy)
        for file, right, wrong in defect.edits:
            path = copy / "coilward" / "controller" / file
            path.write_text(path.read_text("utf-8").replace(right, wrong), "utf-8")
        there = [path for path in paths if (copy / path).exists()]
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider"]
        try:
            done = subprocess.run(
                [*command, *there], cwd=copy,
                env={**os.environ, "PYTHONPATH": folder, "NUMBA_DISABLE_JIT": "1"},
                capture_output=True, text=True, timeout=LATE_S, check=False,
            )
        except subprocess.TimeoutExpired:
            return ""
        failed = [line for line in done.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
        return failed[0].split(" - ")[0].split("::")[-1] if failed else ""


def main():
    """Prints a line a mistake, then the shares."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--loop", default="greenhouse")
    parser.add_argument("--only", default="")
    parser.add_argument("--runs", type=int, default=300)
    parser.add_argument("--tests", action="store_true", help="also run the tests on each")
    asked = parser.parse_args()
    chosen = [int(k) for k in asked.only.split(",") if k] or range(len(MISTAKES))
    loop = read_loop(asked.loop)
    shipped = Stage(loop, today=TODAY)
    caught: Counter[str] = Counter()
    nobody = 0
    for number in chosen:
        defect, began_s = MISTAKES[number], time.perf_counter()
        stage = Stage(loop, today=TODAY, logic=planted(defect))
        by = {"campaign": campaign(stage, shipped), "hunt": hunted(stage, shipped, asked.runs)}
        if asked.tests:
            by["properties"] = tested(defect, PROPERTIES)
            by["search"] = tested(defect, FINITE)
        caught.update(name for name, what in by.items() if what)
        caught["campaign or hunt"] += bool(by["campaign"] or by["hunt"])
        nobody += not any(by.values())
        found = "; ".join(f"{name}: {what}" for name, what in by.items() if what) or "nobody"
        print(f"{number:3d} {defect.name:55s} {time.perf_counter() - began_s:5.0f} s  {found}",
              flush=True)
    for name, count in caught.items():
        print(f"{name}: {count} of {len(chosen)} ({100 * count / len(chosen):.0f} %)")
    sys.exit(1 if nobody else 0)


if __name__ == "__main__":
    main()
