"""Searches for the decisions that cost a Cortex-M4 most.

    python -m benchmarks.dearest [--ticks 1000] [--rounds 20] [--keep]

From wild ticks on, the dearest of them are changed in a few numbers again and again; those that
cost more take their place. Nothing says that none is dearer. With --keep they replace those of the
tests, in tests/firmware/dearest_ticks.npz.
"""

from __future__ import annotations

import argparse

import numpy as np

from coilward.hil.emulated.core import EmulatedCore
from coilward.hil.emulated.counting import Counter
from tests.controller.rig import TODAY
from tests.firmware.test_core_agrees import ALL
from tests.firmware.test_costs import DEAREST, WIRED
from tests.firmware.wild import Ticks, ticks_of

KEPT = 20
TRIED = 200
SHARES = (0.01, 0.03, 0.1, 0.3)
"""Of a tick's numbers that are changed."""


def some(ticks, places):
    """Those of the ticks at some places."""
    return Ticks(*(table[..., places] for table in ticks))


def changed(draw, kept, others):
    """Kept ticks with numbers of others in them."""
    ticks = some(kept, draw.integers(0, KEPT, TRIED))
    share = draw.choice(SHARES, TRIED)
    return Ticks(*(
        np.where(draw.random(mine.shape) < share, theirs, mine)
        for mine, theirs in zip(ticks, others, strict=True)
    ))  # fmt: skip


def dearest(core, constants, first, rounds):
    """The ticks found, the dearest last."""
    counter = Counter(core.machine, "coil_decide")

    def costs(ticks):
        counter.counts.clear()
        core.block(*ticks, each=True)
        return np.array(counter.counts)

    draw = np.random.default_rng(1)
    ticks = ticks_of(1, first, constants)
    cost = costs(ticks)
    print(f"wild: {cost.mean():,.0f} on the mean, {cost.max():,} at most", flush=True)
    for number in range(rounds + 1):
        best = np.argsort(cost)[-KEPT:]
        ticks, cost = some(ticks, best), cost[best]
        if number < rounds:
            more = changed(draw, ticks, ticks_of(1000 + number, TRIED, constants))
            ticks = Ticks(*(np.concatenate(pair, axis=-1)
                            for pair in zip(ticks, more, strict=True)))  # fmt: skip
            cost = np.concatenate([cost, costs(more)])
    print(f"found: {cost.max():,}", flush=True)
    return ticks


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--ticks", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--keep", action="store_true")
    asked = parser.parse_args()
    found = {}
    for loop, constants_of in ALL.items():
        print(loop)
        constants = constants_of()
        core = EmulatedCore(WIRED, constants, TODAY)
        ticks = dearest(core, constants, asked.ticks, asked.rounds)
        found |= {f"{loop} {name}": table for name, table in ticks._asdict().items()}
    if asked.keep:
        np.savez_compressed(DEAREST, **found)


if __name__ == "__main__":
    main()
