"""Mutation testing of the firmware's own doubles: every small change, against the hardware.

    python -m benchmarks.c_doubles [--file scaling.c] [--workers 2]

Each change of `benchmarks.c_changes` to a file of `firmware/arithmetic` is compiled by itself and
run on the pairs and whole numbers of tests/firmware/test_doubles.py: on a few of each kind, and
where it doesn't fall there on many. It falls when one bit of one result differs, or when it hangs
or dies; one that the compiler warns of is refused, as the tests would refuse it. One that compiles
to the very same machine code is no change. One that gives the same bits here, but by what C gives
no meaning to, such as a shift too far, is undefined, and the tests find it as that. Any other that
survives must stand in tests/mutation/explained_doubles.toml, as `benchmarks.c_mutants` has it for
the core. Ends with 1 when anything is left unexplained or counts otherwise.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.c_bench import compiled, in_a_process
from benchmarks.c_changes import Change, changes_of
from benchmarks.c_mutants import EXPLAINED, Explained, told
from coilward.controller.firmware import ARITHMETIC
from tests.firmware import test_doubles

DOUBLES: Any = test_doubles
REASONS = EXPLAINED.with_name("explained_doubles.toml")
FEW, MANY = 3_000, 250_000
"""Pairs of each kind."""
GIVEN_S = 20.0
"""Time of the processor for one change."""
WATCHED = ("-fsanitize=undefined", "-fsanitize-undefined-trap-on-error")
"""Dies of what C leaves undefined."""
TOLD = 50


@cache
def asked(most: int) -> list[tuple[dict[str, Any], str, Any, Any, Any]]:
    """Operations, with pairs and what the hardware makes of them."""
    found: list[tuple[dict[str, Any], str, Any, Any, Any]] = []
    for kind in DOUBLES.KINDS:
        a, b = DOUBLES.some_of(kind, most)
        with np.errstate(all="ignore"):
            for table, made in ((DOUBLES.RECKONINGS, float), (DOUBLES.COMPARISONS, np.int32)):
                found += [(table, name, a, b, does(a, b).astype(made))
                          for name, does in table.items()]  # fmt: skip
    return found


def differs(made: Any, most: int) -> bool:
    """Whether a result differs from the hardware's."""
    for table, name, a, b, theirs in asked(most):
        got = DOUBLES.outcome(made, table, name, a, b, theirs.dtype)
        same = got == theirs
        if table is DOUBLES.RECKONINGS:
            both = np.isnan(got) & np.isnan(theirs)
            same = (got.view(np.uint64) == theirs.view(np.uint64)) | both
        if not same.all():
            return True
    return False


def falls(made: Any, most: int) -> bool:
    """Whether it differs, hangs or dies."""

    def does() -> bool:
        signal.setitimer(signal.ITIMER_VIRTUAL, GIVEN_S)
        return differs(made, FEW) or DOUBLES.wholes_differing(made) > 0 or differs(made, most)

    return in_a_process(does) is not False


def codes(folder: Path) -> list[bytes]:
    """The machine code of every file. Raises RuntimeError."""
    found = []
    for path in sorted(folder.glob("*.c")):
        if refused := compiled(folder, path.name, folder / "made.o", "-O2"):
            raise RuntimeError(refused)
        found.append((folder / "made.o").read_bytes())
    return found


def judged(change: Change) -> str:
    """In a worker."""
    with tempfile.TemporaryDirectory() as own:
        folder = Path(shutil.copytree(ARITHMETIC, Path(own) / "arithmetic"))
        path = folder / change.file
        text = path.read_text("utf-8")
        path.write_text(text[: change.start] + change.text + text[change.end :], "utf-8")
        try:
            made = DOUBLES.library(sorted(folder.glob("*.c")), Path(own))
        except RuntimeError:
            return "refused"
        if falls(made, MANY):
            return "fell"
        if falls(DOUBLES.library(sorted(folder.glob("*.c")), folder, *WATCHED), FEW):
            return "undefined"
        now = codes(folder)
        path.write_text(text, "utf-8")
        return "same code" if codes(folder) == now else "survived"


def main() -> int:
    asked_for = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    asked_for.add_argument("--file", action="append", help="such as adding.c; of several, several")
    asked_for.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    said = asked_for.parse_args()
    for most in (FEW, MANY):
        asked(most)
    changes = [
        change for path in sorted(ARITHMETIC.iterdir()) if not said.file or path.name in said.file
        for change in changes_of(path.name, path.read_text("utf-8"))
    ]
    outcomes = []
    with ProcessPoolExecutor(said.workers) as pool:
        for change, outcome in zip(changes, pool.map(judged, changes, chunksize=4), strict=True):
            outcomes.append((change, outcome))
            if len(outcomes) % TOLD == 0:
                print(f"{len(outcomes)} of {len(changes)}", flush=True)
    return told(outcomes, Explained(REASONS), whole=not said.file)


if __name__ == "__main__":
    sys.exit(main())
