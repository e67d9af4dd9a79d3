"""Searches for the decisions that cost a Cortex-M4 most.

    python -m benchmarks.dearest [--ticks 1000] [--rounds 20] [--seed 1] [--loop NAME | --keep]
    python -m benchmarks.dearest --nights [--ticks 1000] [--rounds 20] [--seed 1]

From wild ticks on, the dearest of them are changed in a few numbers again and again; those that
cost more take their place. Nothing says that none is dearer. With --keep they replace those of the
tests, in tests/firmware/dearest_ticks.npz. With --nights each memory is one that a faulted night of
the greenhouse has left, and only what is read and asked is changed.
"""

from __future__ import annotations

import argparse

import numpy as np

from benchmarks.c_inputs import NIGHTS, night
from coilward.hil.emulated.core import EmulatedCore
from coilward.hil.emulated.counting import Counter
from tests.controller.rig import TODAY
from tests.firmware.test_core_agrees import ALL
from tests.firmware.test_costs import DEAREST, WIRED
from tests.firmware.wild import Ticks, ticks_of
from tests.hil import made

KEPT = 20
TRIED = 200
SHARES = (0.01, 0.03, 0.1, 0.3)
"""Of a tick's numbers that are changed."""
SWAPPED = 0.3
"""Of ticks that are given the memory of another moment."""


def some(ticks, places):
    """Those of the ticks at some places."""
    return Ticks(*(table[..., places] for table in ticks))


def mixed(draw, table, others, share):
    """A table with some numbers of another's."""
    return np.where(draw.random(table.shape) < share, others, table)


def anything(constants, seed):
    """What makes new ticks of those that were kept: any number of another tick in its place."""

    def more(draw, kept, number):
        ticks = some(kept, draw.integers(0, KEPT, TRIED))
        others = ticks_of(1000 * seed + number, TRIED, constants)
        share = draw.choice(SHARES, TRIED)
        return Ticks(*(mixed(draw, *pair, share) for pair in zip(ticks, others, strict=True)))

    return more


def in_a_night(constants, seed, played):
    """The same, but a memory is that of a night's tick, whole."""

    def more(draw, kept, number):
        ticks = some(kept, draw.integers(0, KEPT, TRIED))
        others = ticks_of(1000 * seed + number, TRIED, constants)
        other = some(played, draw.integers(0, played.came.shape[1], TRIED))
        share, swapped = draw.choice(SHARES, TRIED), draw.random(TRIED) < SWAPPED
        return Ticks(
            mixed(draw, ticks.came, others.came, share),
            mixed(draw, ticks.asked, others.asked, share),
            np.where(swapped, other.floats, ticks.floats),
            np.where(swapped, other.wholes, ticks.wholes),
        )

    return more


def dearest(core, ticks, more, asked):
    """The ticks found, the dearest last."""
    counter = Counter(core.machine, "coil_decide")

    def costs(ticks):
        counter.counts.clear()
        core.block(*ticks, each=True)
        return np.array(counter.counts)

    draw = np.random.default_rng(asked.seed)
    cost = costs(ticks)
    print(f"at first: {cost.mean():,.0f} on the mean, {cost.max():,} at most", flush=True)
    for number in range(asked.rounds + 1):
        best = np.argsort(cost)[-KEPT:]
        ticks, cost = some(ticks, best), cost[best]
        if number < asked.rounds:
            new = more(draw, ticks, number)
            ticks = Ticks(*(np.concatenate(pair, axis=-1) for pair in zip(ticks, new, strict=True)))
            cost = np.concatenate([cost, costs(new)])
    print(f"found: {cost.max():,}", flush=True)
    return ticks


def of_nights(asked):
    """Whatever is read and asked, at any moment of some faulted nights of the greenhouse."""
    constants = made.constants("greenhouse")
    nights = [night(fault, 0) for fault in NIGHTS]
    played = Ticks(*(np.concatenate([getattr(each, name) for each in nights], axis=-1)
                     for name in Ticks._fields))  # fmt: skip
    print(f"of {played.came.shape[1]:,} ticks of {', '.join(NIGHTS)}")
    at = np.random.default_rng(asked.seed).integers(0, played.came.shape[1], asked.ticks)
    core = EmulatedCore(WIRED, constants, TODAY)
    dearest(core, some(played, at), in_a_night(constants, asked.seed, played), asked)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--ticks", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    how = parser.add_mutually_exclusive_group()
    how.add_argument("--keep", action="store_true")
    how.add_argument("--loop", choices=ALL, help="only this one")
    how.add_argument("--nights", action="store_true")
    asked = parser.parse_args()
    if asked.nights:
        of_nights(asked)
        return
    found = {}
    for loop in [asked.loop] if asked.loop else ALL:
        print(loop)
        constants = ALL[loop]()
        core = EmulatedCore(WIRED, constants, TODAY)
        first = ticks_of(asked.seed, asked.ticks, constants)
        ticks = dearest(core, first, anything(constants, asked.seed), asked)
        found |= {f"{loop} {name}": table for name, table in ticks._asdict().items()}
    if asked.keep:
        np.savez_compressed(DEAREST, **found)


if __name__ == "__main__":
    main()
