"""The inputs on which the C core is held against the controller, with what that makes of them.

Seeded wild ticks for loops with everything, nothing and some things fitted; the ticks that the
logic's own tests stand on; both with numbers moved to a limit; faulted nights. Decided by the
controller once, and kept until a file of it, or of what makes the inputs, changes.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.c_edges import edges
from benchmarks.c_rows import rows_by_themselves
from benchmarks.copying import ROOT
from coilward.controller.constants import Constants, Fitted, Valve, lines_of
from coilward.controller.interlocks import EVERY_ROW
from coilward.hil.tick import asked, flat
from coilward.simulator.engine import user_cache
from tests.controller.rig import changed, constants_of, everything_fitted
from tests.firmware.wild import Ticks, decided_by_python, ticks_of
from tests.hil import made

FIRST, MORE = 3_000, 10_000
"""Wild ticks of a loop: those that come first, since most mistakes show in them; and the rest."""
EDGES, MANY, ENOUGH = 2, 1_000, 20_000
"""Ticks at the edges for each tick of a batch that has so many, but fewer than so many."""
EVERYTHING = 1
"""The place of the loop with everything fitted."""
HARD = ROOT / "tests" / "firmware" / "hard_ticks.npz"
"""Ticks that `benchmarks.c_hunt` found."""
NIGHTS = ("pump-dies", "board-reboots", "meter-dead", "outlet-a-open", "tank-open")
RUN_TIME = "tests/controller/test_adding.py"
"""Adds rows at run time, which only the interpreter can."""
SOURCES = (
    "coilward/controller/*.py", "coilward/loop/**/*.py", "tests/controller/*.py",
    "tests/firmware/wild.py", "benchmarks/c_inputs.py", "benchmarks/c_edges.py",
    "benchmarks/c_rows.py", "benchmarks/recorded_scenes.py", "tests/firmware/hard_ticks.npz",
)  # fmt: skip


@dataclass
class Batch:
    """Ticks that are decided in one call, and what the controller made of them."""

    constants: int
    came: Any
    asked: Any
    floats: Any
    wholes: Any
    each: bool
    expected: tuple[Any, Any]


@dataclass
class Inputs:
    """Batches, quick ones first, and the constants that they count on."""

    constants: list[Constants]
    batches: list[Batch]

    @property
    def ticks(self) -> int:
        """Of all batches."""
        return sum(batch.came.shape[1] for batch in self.batches)


def loops() -> list[Constants]:
    """Shipped loops, loops with other things fitted, and odd numbers in four of them; seeded."""
    all_of_it = everything_fitted()
    found = [constants_of("greenhouse"), all_of_it, constants_of("hot-tub")]
    found.append(all_of_it._replace(fitted=Fitted(*[False] * len(Fitted._fields))))
    draw = np.random.default_rng(44)
    for _ in range(4):
        some = [bool(each) for each in draw.random(len(Fitted._fields)) < 0.5]
        found.append(all_of_it._replace(fitted=Fitted(*some)))
    found.append(all_of_it._replace(
        water=all_of_it.water._replace(window_cap_s=10.05),
        valve=all_of_it.valve._replace(always_open=True),
    ))  # fmt: skip
    c = all_of_it.valve.curve_lpm
    odd = all_of_it._replace(
        water=all_of_it.water._replace(lpm_s=6.0, window_cap_s=9.95),
        throttling=all_of_it.throttling._replace(flow_band=0.05, gain_slope=0.3),
        valve=with_curve(all_of_it.valve, [*c[:6], *c[5:6] * 3]),
    )
    found.append(odd)
    every_odd = (EVERY_ROW, *all_of_it.thresholds[1:])
    flat_end = [0.4, 1.7, 2.9, 8.9, 11.3, 11.4, 11.6, 11.8, c[8]]
    found.append(all_of_it._replace(
        tick_s=0.2, thresholds=every_odd,
        valve=with_curve(all_of_it.valve, flat_end)._replace(stop=0.1, backlash=0.0),
    ))  # fmt: skip
    rough = [0.03509, 0.09837, 0.22665, 0.47371, 0.97355, 1.99257, 3.96594, 7.96641, 15.93767]
    """Nowhere does a line from one flow to the next end at exactly that."""
    found.append(changed(
        all_of_it,
        water=all_of_it.water._replace(
            window_cap_s=0.2, open_lpm=2.0, stop_lpm=0.5, least_lpm=0.2, heat_largest_w=500.0
        ),
        valve=with_curve(all_of_it.valve, rough)._replace(stop=0.0),
    ))  # fmt: skip
    return found


def with_curve(valve: Valve, flows_lpm: list[float]) -> Valve:
    """A valve with other flows, and the lines from each to the next."""
    curve: Any = tuple(flows_lpm)
    slope_lpm, foot_lpm = lines_of(flows_lpm)
    return valve._replace(curve_lpm=curve, slope_lpm=slope_lpm, foot_lpm=foot_lpm)


def wild(place: int, constants: Constants, count: int) -> Batch:
    """Seeded ticks, each from its own state."""
    ticks = ticks_of(place * 1_000_000 + count, count, constants)
    return Batch(place, *ticks, True, decided_by_python(ticks, constants, range(count)))


def kept_ticks() -> list[Any]:
    """Loop, readings, requests, floats and wholes before of the ticks that were hunted."""
    with np.load(HARD) as kept:
        return [kept[f"arr_{number}"] for number in range(5)]


def hard(constants: list[Constants]) -> list[Batch]:
    """Ticks that told a change which nothing else did."""
    place, *columns = kept_ticks()
    found = []
    for loop in sorted(set(place.tolist())):
        ticks = Ticks(*(each[..., place == loop] for each in columns))
        expected = decided_by_python(ticks, constants[loop], range(ticks.came.shape[1]))
        found.append(Batch(loop, *ticks, True, expected))
    return found


def rows(place: int, constants: Constants) -> Batch:
    """Every row by itself."""
    ticks = rows_by_themselves(constants)
    expected = decided_by_python(ticks, constants, range(ticks.came.shape[1]))
    return Batch(place, *ticks, True, expected)


def edge(batch: Batch, constants: Constants) -> Batch:
    """Ticks of a batch with a number or two at an edge."""
    base = Ticks(batch.came, batch.asked, batch.floats, batch.wholes)
    count = EDGES * base.came.shape[1]
    ticks = edges(batch.constants, count, constants, base)
    expected = decided_by_python(ticks, constants, range(count))
    return Batch(batch.constants, *ticks, True, expected)


def table(ticks: list[tuple[Any, ...]], place: int) -> Batch:
    """Recorded ticks: readings, requests, state and decision of each."""
    came = np.array([readings for readings, *_ in ticks]).T
    masks = np.array([asked(requests) for _, requests, *_ in ticks], np.uint64)
    before = [flat(state) for _, _, state, _ in ticks]
    after = [(*flat(decision.state), decision.commands) for *_, decision in ticks]
    floats = [[*some, said.valve, said.fans] for some, _, said in after]
    wholes = [
        [*some, said.pump, said.damper_open, said.dump_open, said.horn, said.may_light]
        for _, some, said in after
    ]
    return Batch(
        place, came, masks, np.array([each for each, _ in before]).T,
        np.array([each for _, each in before], np.int64).T, True,
        (np.array(floats).T, np.array(wholes, np.int64).T),
    )  # fmt: skip


def scenes() -> list[tuple[Constants, list[tuple[Any, ...]]]]:
    """What the logic's own tests decide. Raises RuntimeError where they fail."""
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "scenes"
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider",
             "-p", "benchmarks.recorded_scenes", "tests/controller", f"--ignore={RUN_TIME}"],
            cwd=ROOT, env={**os.environ, "COILWARD_SCENES": str(kept)}, check=False,
            capture_output=True, text=True,
        )  # fmt: skip
        if done.returncode:
            raise RuntimeError(f"the logic's own tests fail:\n{done.stdout[-2000:]}")
        found: list[tuple[Constants, list[tuple[Any, ...]]]] = pickle.loads(kept.read_bytes())
    return found


def night(fault: str, place: int) -> Batch:
    """Ticks around a fault, as recorded."""
    recorded = made.night(fault, "6 min", "3 min")
    states = recorded.origins
    ticks, before = [], None
    for tick in recorded.ticks:
        state = states.get(tick.number, before)
        ticks.append((tick.readings, tick.requests, state, _Decided(tick.state, tick.commands)))
        before = tick.state
    return table(ticks, place)


@dataclass
class _Decided:
    state: Any
    commands: Any


def make(tell: Callable[[str], None]) -> Inputs:
    """All of them; a few minutes of the controller's own time."""
    constants = loops()
    batches = [*hard(constants), rows(EVERYTHING, constants[EVERYTHING])]
    batches += [wild(place, each, FIRST) for place, each in enumerate(constants)]
    tell("the logic's own tests, recorded")
    for each, ticks in scenes():
        if each not in constants:
            constants.append(each)
        batches.append(table(ticks, constants.index(each)))
    greenhouse = made.constants("greenhouse")
    if greenhouse not in constants:
        constants.append(greenhouse)
    batches += [night(fault, constants.index(greenhouse)) for fault in NIGHTS]
    for batch in list(batches):
        if batch.each and MANY <= batch.came.shape[1] < ENOUGH:
            tell(f"edges of {batch.came.shape[1]} ticks of loop {batch.constants}")
            batches.append(edge(batch, constants[batch.constants]))
    for place, each in enumerate(loops()):
        tell(f"{MORE} wild ticks of loop {place}")
        batches.append(wild(place, each, MORE))
    return Inputs(constants, batches)


def inputs(tell: Callable[[str], None] = print) -> Inputs:
    """From the user's cache where they are there."""
    digest = hashlib.sha256()
    for pattern in SOURCES:
        for path in sorted(ROOT.glob(pattern)):
            digest.update(path.read_bytes())
    kept = user_cache() / "c_inputs" / f"{digest.hexdigest()[:24]}.pickle"
    if kept.exists():
        found: Inputs = pickle.loads(kept.read_bytes())
        return found
    found = make(tell)
    kept.parent.mkdir(parents=True, exist_ok=True)
    fresh = kept.with_suffix(".part")
    fresh.write_bytes(pickle.dumps(found))
    fresh.replace(kept)
    return found
