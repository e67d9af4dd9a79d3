"""Hunts for ticks that tell a surviving change of the C core from the core as it is.

    python -m benchmarks.c_hunt [--rounds 4] [--workers 2]

Ticks at the edges, as many as can be, are decided by the core with and without each change that
`benchmarks.c_mutants` has left. The first that differs is added to tests/firmware/hard_ticks.npz,
with which the core is compared with the controller from then on.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.c_bench import Judge, in_a_process, library_of
from benchmarks.c_edges import edges
from benchmarks.c_inputs import HARD, MANY, Batch, inputs, loops
from benchmarks.c_mutants import RUN, TOGETHER, Explained, Kept, all_changes, with_changes
from coilward.hil.host_core import HostCore
from tests.firmware.wild import Ticks

AT_A_TIME = 10_000
JUDGE: list[Judge] = []
Columns = tuple[Any, Any, Any, Any]


def settle_in(library: Path) -> None:
    """A worker's own library."""
    JUDGE.append(Judge(library, inputs()))


def caught(
    core: HostCore, ticks: Ticks, numbers: list[int], usual: tuple[Any, Any]
) -> list[tuple[int, int]]:
    """The first tick that each change decides otherwise, for those that do."""

    def told() -> list[tuple[int, int]]:
        found = []
        for number in numbers:
            JUDGE[0].choose(number)
            differs = np.zeros(ticks.came.shape[1], bool)
            for ours, theirs in zip(core.block(*ticks, each=True), usual, strict=True):
                unlike = ours.view(np.int64) != theirs.view(np.int64)
                if ours.dtype == np.float64:
                    unlike &= ~(np.isnan(ours) & np.isnan(theirs))
                differs |= unlike.any(axis=0)
            if differs.any():
                found.append((number, int(np.argmax(differs))))
        return found

    found = in_a_process(told)
    if found is not None or len(numbers) == 1:
        return found or []
    half = len(numbers) // 2
    return caught(core, ticks, numbers[:half], usual) + caught(core, ticks, numbers[half:], usual)


def hunted(asked: tuple[int, Batch, list[int]]) -> dict[int, Columns]:
    """In a worker: ticks from one batch, by the changes that they tell."""
    seed, batch, numbers = asked
    judge = JUDGE[0]
    base = Ticks(batch.came, batch.asked, batch.floats, batch.wholes)
    ticks = edges(seed, AT_A_TIME, judge.given.constants[batch.constants], base)
    core = judge.cores[batch.constants]
    usual = core.block(*ticks, each=True)
    found: dict[int, Columns] = {}
    for start in range(0, len(numbers), TOGETHER):
        some = numbers[start : start + TOGETHER]
        for number, at in caught(core, ticks, some, usual):
            found[number] = (
                ticks.came[:, at], ticks.asked[at], ticks.floats[:, at], ticks.wholes[:, at]
            )
    return found


def keep(found: list[tuple[int, Columns]]) -> None:
    """Adds ticks, with the place of their loop, to those that are there."""
    columns = list(zip(*(each for _, each in found), strict=True))
    fresh = [np.array([place for place, _ in found])]
    fresh += [np.array(each).T for each in columns]
    if HARD.exists():
        with np.load(HARD) as there:
            fresh = [np.concatenate([there[f"arr_{n}"], each], axis=-1)
                     for n, each in enumerate(fresh)]  # fmt: skip
    np.savez_compressed(HARD, *fresh)


def main() -> int:
    asked = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    asked.add_argument("--rounds", type=int, default=4)
    asked.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    asked.add_argument("--seed", type=int, default=1)
    said = asked.parse_args()
    kept, explained, given = Kept(afresh=False), Explained(), inputs()
    pairs = [
        (number, change) for number, change in all_changes()
        if kept.known(change) in ("", "survived") and not explained.why(change)
    ]
    library = library_of(Path(tempfile.mkdtemp()), with_changes(pairs), given, RUN)
    left = [number for number, _ in pairs]
    bases = [each for each in given.batches if each.each and each.constants < len(loops())]
    bases = [each for each in bases if each.came.shape[1] >= MANY]
    tests = max(bases, key=lambda each: each.came.shape[1] * (each.constants == 0))
    bases = [replace(tests, constants=place) for place in range(len(loops()))] + bases
    with ProcessPoolExecutor(said.workers, initializer=settle_in, initargs=(library,)) as pool:
        for turn in range(said.rounds):
            for at in range(0, len(bases), said.workers):
                some = bases[at : at + said.workers]
                seed = said.seed * 10_000 + turn * 100 + at
                jobs = [(seed + n, batch, left) for n, batch in enumerate(some)]
                told: dict[int, tuple[int, Columns]] = {}
                for batch, found in zip(some, pool.map(hunted, jobs), strict=True):
                    told |= {n: (batch.constants, each) for n, each in found.items()
                             if n not in told}  # fmt: skip
                if told:
                    keep(list(told.values()))
                    left = [number for number in left if number not in told]
                print(f"round {turn + 1}, batch {at}: {len(told)} told, {len(left)} left",
                      flush=True)  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
