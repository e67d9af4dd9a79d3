"""Hunts for ticks that tell a surviving change of the C core from the core as it is.

    python -m benchmarks.c_hunt [--seed 1] [--workers 2]

For each comparison in a file with such a change: ticks in which turning it round changes the
outcome are taken from the inputs, and each number of a tick by itself is moved to where both sides
are equal, by a secant and then by halves down to neighbouring doubles. There, and a little to
either side, the changes are tried. The first tick that tells a change is added to
tests/firmware/hard_ticks.npz, with which the core is compared with the controller from then on.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.c_bench import Judge, in_a_process, library_of
from benchmarks.c_edges import edges
from benchmarks.c_inputs import HARD, MANY, Batch, Inputs, inputs, kept_ticks, loops
from benchmarks.c_mutants import RUN, TOGETHER, Explained, Kept, all_changes, with_changes
from benchmarks.c_probes import Probes, stem
from coilward.controller.types import Readings
from tests.firmware.wild import Ticks

AT_A_TIME, STARTS = 10_000, 40
"""Ticks that are looked through, and of those that depend on a comparison, how many are moved."""
STEPS, HALVES, BESIDE = 4, 26, 3
SHARES = (-0.02, -0.005, -0.0005, 0.0005, 0.005, 0.02)
"""How far beside the limit a tick is tried, as shares of it."""
Column = tuple[Any, Any, Any, Any]


class Hunter:
    """A worker's own libraries."""

    def __init__(self, library: Path, given: Inputs) -> None:
        self.given = given
        self.judge = Judge(library, Inputs(given.constants, []))
        self.probes = Probes(Path(tempfile.mkdtemp()), given, RUN)

    def caught(
        self, place: int, ticks: Ticks, numbers: list[int], usual: tuple[Any, Any]
    ) -> list[tuple[int, int]]:
        """The first tick that each change decides otherwise, for those that do."""

        def told() -> list[tuple[int, int]]:
            found = []
            for number in numbers:
                self.judge.choose(number)
                differs = unlike(self.judge.cores[place].block(*ticks, each=True), usual)
                if differs.any():
                    found.append((number, int(np.argmax(differs))))
            return found

        found = in_a_process(told)
        if found is not None or len(numbers) == 1:
            return found or []
        half = len(numbers) // 2
        return [each for some in (numbers[:half], numbers[half:])
                for each in self.caught(place, ticks, some, usual)]  # fmt: skip

    def at_the_limit(self, number: int, place: int, base: Ticks, draw: Any) -> Ticks | None:
        """Ticks at the limit of one comparison and close beside, from those that depend on it."""
        usual, sides = self.probes.asked(number, place, base)
        turned, _ = self.probes.asked(number, place, base, turned=True)
        with np.errstate(invalid="ignore"):
            gap = np.abs(sides[0] - sides[1])
        depends = np.flatnonzero(unlike(turned, usual) & np.isfinite(gap))
        if not len(depends):
            return None
        near = depends[np.argsort(gap[depends])[: STARTS // 2]]
        some = np.concatenate([near, draw.choice(depends, STARTS // 2)])
        table = np.concatenate([base.came, base.floats])
        rows, columns = (each.ravel() for each in np.indices((len(table), len(some))))
        columns = some[columns]

        def apart(values: Any, at: Any) -> Any:
            _, sides = self.probes.asked(
                number, place, with_values(base, table, rows[at], columns[at], values)
            )
            return sides

        def gap_at(values: Any, at: Any) -> Any:
            with np.errstate(all="ignore"):
                one, other = apart(values, at)
                return one - other

        every = np.arange(len(rows))
        was = table[rows, columns]
        was = np.where(np.isfinite(was), was, 0.0)
        value = was + 0.01 * np.maximum(1.0, np.abs(was))
        gap_was, gap_now = gap_at(was, every), gap_at(value, every)
        moves = np.isfinite(gap_was) & np.isfinite(gap_now) & (gap_was != gap_now)
        at = every[moves]
        low, f_low, high, f_high = was[moves], gap_was[moves], value[moves], gap_now[moves]
        slope = (f_high - f_low) / (high - low)
        for _ in range(STEPS):
            with np.errstate(all="ignore"):
                fresh = high - f_high * (high - low) / (f_high - f_low)
            fresh = np.where(np.isfinite(fresh) & (np.abs(fresh) < 1e12), fresh, high)
            low, f_low, high, f_high = high, f_high, fresh, gap_at(fresh, at)
        centre = high
        width = 1e-9 * np.maximum(1.0, np.abs(centre))
        low, high = centre - width, centre + width
        f_low, f_high = gap_at(low, at), gap_at(high, at)
        held = np.isfinite(centre) & np.isfinite(f_low) & np.isfinite(f_high)
        at, low, high, f_low, centre, slope = (
            each[held] for each in (at, low, high, f_low, centre, slope)
        )
        for _ in range(HALVES):
            middle = 0.5 * (low + high)
            f = gap_at(middle, at)
            same = (f <= 0.0) == (f_low <= 0.0)
            low, high = np.where(same, middle, low), np.where(same, high, middle)
        limit = apart(centre, at)[1]
        values = [low, high]
        up, down = high, low
        for _ in range(BESIDE):
            up, down = np.nextafter(up, np.inf), np.nextafter(down, -np.inf)
            values += [up, down]
        with np.errstate(all="ignore"):
            values += [high + share * np.abs(limit) / slope for share in SHARES]
        values += [np.round(high * 16.0) / 16.0]
        at = np.tile(at, len(values))
        made = np.concatenate(values)
        return with_values(base, table, rows[at], columns[at], made) if len(at) else None

    def hunted(
        self, place: int, base: Ticks, sites: list[int], numbers: list[int], seed: int
    ) -> dict[int, Column]:
        """Ticks by the changes that they tell."""
        found: dict[int, Column] = {}
        draw = np.random.default_rng(seed)
        for site in sites:
            ticks = self.at_the_limit(site, place, base, draw)
            left = [number for number in numbers if number not in found]
            if ticks is None or not left:
                continue
            usual = self.judge.cores[place].block(*ticks, each=True)
            for start in range(0, len(left), TOGETHER):
                some = left[start : start + TOGETHER]
                for number, at in self.caught(place, ticks, some, usual):
                    found[number] = (ticks.came[:, at], ticks.asked[at], ticks.floats[:, at],
                                     ticks.wholes[:, at])  # fmt: skip
        return found


def size(batch: Batch) -> int:
    """In ticks."""
    return int(batch.came.shape[1])


def unlike(ours: tuple[Any, Any], theirs: tuple[Any, Any]) -> Any:
    """Which ticks differ in a bit; every NaN is the same."""
    floats = (ours[0].view(np.int64) != theirs[0].view(np.int64)) & ~(
        np.isnan(ours[0]) & np.isnan(theirs[0])
    )
    return floats.any(axis=0) | (ours[1] != theirs[1]).any(axis=0)


def with_values(base: Ticks, table: Any, rows: Any, columns: Any, values: Any) -> Ticks:
    """Ticks of a base, each with one of its numbers replaced."""
    made = table[:, columns]
    made[rows, np.arange(len(rows))] = values
    many = len(Readings._fields)
    return Ticks(made[:many], base.asked[columns], made[many:], base.wholes[:, columns])


def keep(found: list[tuple[int, Column]]) -> None:
    """Adds ticks, with the place of their loop, to those that are there."""
    columns = list(zip(*(each for _, each in found), strict=True))
    fresh = [np.array([place for place, _ in found]), *(np.array(each).T for each in columns)]
    joined = [np.concatenate(pair, axis=-1) for pair in zip(kept_ticks(), fresh, strict=True)]
    np.savez_compressed(HARD, *joined)


def untold(hunter: Hunter, numbers: list[int]) -> list[int]:
    """The changes that the ticks that were found before don't tell."""
    loop, *columns = kept_ticks()
    for place in sorted(set(loop.tolist())):
        ticks = Ticks(*(each[..., loop == place] for each in columns))
        usual = hunter.judge.cores[place].block(*ticks, each=True)
        told = {number for number, _ in hunter.caught(place, ticks, numbers, usual)}
        numbers = [number for number in numbers if number not in told]
    return numbers


HUNTER: list[Hunter] = []


def settle_in(library: Path, given: Inputs) -> None:
    """A worker's own hunter."""
    HUNTER.append(Hunter(library, given))


def in_a_worker(asked: tuple[int, Ticks, list[int], list[int], int]) -> dict[int, Column]:
    return HUNTER[0].hunted(*asked)


def main() -> int:
    asked = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    said = asked.parse_args()
    kept, explained, given = Kept(afresh=False), Explained(), inputs()
    pairs = [
        (number, change) for number, change in all_changes()
        if kept.known(change) in ("", "survived") and not explained.why(change)
    ]
    library = library_of(Path(tempfile.mkdtemp()), with_changes(pairs), given, RUN)
    own = Hunter(library, given)
    left = untold(own, [number for number, _ in pairs])
    stem_of = {number: stem(change.file) for number, change in pairs}
    large = [each for each in given.batches if each.each and each.came.shape[1] >= MANY]
    tests = max((each for each in large if each.constants == 0), key=size)
    draw = np.random.default_rng(said.seed)
    with ProcessPoolExecutor(
        said.workers, initializer=settle_in, initargs=(library, given)
    ) as pool:
        for place, constants in reversed(list(enumerate(loops()))):
            largest = max((each for each in large if each.constants == place), key=size)
            for batch in (tests, largest):
                whole = Ticks(batch.came, batch.asked, batch.floats, batch.wholes)
                ticks = edges(int(draw.integers(1 << 30)), AT_A_TIME, constants, whole)
                stems = {stem_of[number] for number in left}
                sites = own.probes.beside(stems)
                shares = [sites[n :: said.workers] for n in range(said.workers)]
                jobs = [(place, ticks, each, left, int(draw.integers(1 << 30))) for each in shares]
                told: dict[int, Column] = {}
                for found in pool.map(in_a_worker, jobs):
                    told |= found
                if told:
                    keep([(place, each) for each in told.values()])
                    left = [number for number in left if number not in told]
                print(f"loop {place}: {len(told)} told, {len(left)} left", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
