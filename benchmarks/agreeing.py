"""A core held against the controller: random ticks, and whole faulted nights."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import count
from typing import Any, NamedTuple

from benchmarks.differing import Differing
from benchmarks.noted import Compared, noting_runner
from coilward.controller.constants import constants_for
from coilward.hil.redeciding.block import redecide
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.proving.case import Case, Story, parse_case
from coilward.proving.outcome import Outcome
from coilward.proving.stage import Stage
from coilward.simulator.engine import compiled
from coilward.simulator.faults import FAULTS
from tests.firmware.wild import decided_by_python, ticks_of

DAY = date(2026, 11, 25)


class Wanted(NamedTuple):
    """One core, and how much of it is looked at."""

    command: str
    """Which core, as words of the command line."""
    core_of: Callable[[str], Any]
    """The core with the constants of a loop of this name."""
    loops: list[str]
    ticks: int
    nights: int
    seed: int
    first: int
    """Number of the first night: those before it are left out."""
    block: int
    """Random ticks at once: an interruption waits for their end."""
    lasts_s: Callable[[Story], float]
    """How long a night goes on after the onset of its fault."""
    nights_word: str = "nights"

    def again(self, loops: str, rest: str) -> str:
        """A command that does a part of it again."""
        return f"python -m benchmarks.firmware {self.command} --loops {loops} {rest}"


class Played:
    """Nights so far."""

    def __init__(self):
        self.nights, self.fired, self.hours = 0, 0, 0.0
        self.faults, self.rows, self.began_s = set(), set(), time.perf_counter()

    def add(self, told: Story, outcome: Outcome) -> None:
        self.nights += 1
        self.fired += outcome.fired
        self.hours += (told.onset_s + told.lasts_s) / 3600.0
        self.faults.update(told.case.faults)
        self.rows.add(outcome.caught)

    def words(self) -> str:
        return (f"{self.nights} of {len(self.faults)} faults ({self.fired} showed), "
                f"{self.hours:,.1f} h, {len(self.rows)} first rows, "
                f"{time.perf_counter() - self.began_s:,.0f} s")  # fmt: skip


@contextmanager
def telling_the_rest(wanted: Wanted, rest: str):
    """Where it is interrupted, says how to go on."""
    try:
        yield
    except KeyboardInterrupt:
        print(f"\ninterrupted; goes on with: {wanted.again(' '.join(wanted.loops), rest)}")
        raise


@cache
def constants_of(name):
    loop = read_loop(name)
    return constants_for(loop, derive(loop, DAY))


@cache
def engines():
    return noting_runner(), compiled(redecide)


def random_ticks(wanted: Wanted) -> Differing:
    """Random ticks of all loops in turn."""
    cores = {name: wanted.core_of(name) for name in wanted.loops}
    differing, done, began_s, cpu_s = Differing(), 0, time.perf_counter(), 0.0
    for seed in count(wanted.seed):
        if done == wanted.ticks:
            break
        name = wanted.loops[seed % len(wanted.loops)]
        many = min(wanted.block, wanted.ticks - done)
        left = f"--ticks {wanted.ticks - done} --{wanted.nights_word} {wanted.nights}"
        with telling_the_rest(wanted, f"--seed {seed} {left}"):
            ticks = ticks_of(seed, many, constants_of(name))
            theirs = decided_by_python(ticks, constants_of(name), range(many))
            cpu_s -= time.process_time()
            found = cores[name].block(*ticks, each=True)
            cpu_s += time.process_time()
        again = wanted.again(name, f"--seed {seed} --ticks {many} --{wanted.nights_word} 0")
        differing.hold(ticks, found, theirs, f"{name}, seed {seed}", again, each=True)
        done += many
        if done * 20 // wanted.ticks > (done - many) * 20 // wanted.ticks:
            print(f"  {done:,} random ticks, {time.perf_counter() - began_s:,.0f} s; the core "
                  f"{done / cpu_s:,.0f} a second of processor time", flush=True)  # fmt: skip
    return differing


def cases(wanted: Wanted) -> Iterator[tuple[str, Case]]:
    """Every fault of the catalogue on every loop, again and again."""
    every = ((fault, name) for _ in count() for fault in FAULTS for name in wanted.loops)
    for number, (fault, name) in enumerate(every):
        if number >= wanted.first:
            yield name, Case((fault,), number, wanted.seed)


def nights(wanted: Wanted, case: str | None = None) -> Differing:
    """Whole faulted nights, or one case on every loop."""
    run, decide = engines()
    differing, stages, compared = Differing(), {}, {}
    for name in wanted.loops:
        stages[name] = Stage(read_loop(name), engine="compiled", today=DAY)
        compared[name] = Compared(run, decide, wanted.core_of(name), differing)
        stages[name].bench.run = compared[name]
    every = cases(wanted) if case is None else ((name, parse_case(case)) for name in wanted.loops)
    played = Played()
    for name, one in every:
        if played.nights == wanted.nights:
            break
        try:
            told = stages[name].story(one)
        except ValueError:
            continue
        told = replace(told, lasts_s=wanted.lasts_s(told))
        compared[name].where = f"{name}, {one.key}"
        compared[name].again = wanted.again(name, f"--case {one.key}")
        left = f"--ticks 0 --{wanted.nights_word} {wanted.nights - played.nights}"
        with telling_the_rest(wanted, f"--seed {one.seed} {left} --first {one.index}"):
            played.add(told, stages[name].play_story(told))
        if played.nights % max(1, wanted.nights // 20) == 0:
            words = f"{played.words()}, {differing.ticks:,} ticks"
            print(f"  {wanted.nights_word}: {words}", flush=True)
    if played.nights == 0:
        raise SystemExit(f"{case} can not be played on any of these loops")
    return differing
