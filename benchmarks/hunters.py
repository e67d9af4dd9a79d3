"""What the campaign and the hunt find under the logic of this copy of the project, as JSON.

    python -m benchmarks.hunters --loop greenhouse --cases 10 --runs 300

Pairs of faults are tried only where every fault by itself ends well. A logic that refuses the loop
before the first night is found out by that. Called by `benchmarks.mistakes` in copies with a
mistake in them, compiled anew for each, because a burn is two hundred times faster then.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from datetime import date
from pathlib import Path

from coilward.loop.document import read_loop
from coilward.proving.campaign import prove
from coilward.proving.hunt import hunt
from coilward.proving.stage import Stage

TODAY = date(2026, 11, 25)


def campaign(loop, cases, pairs):
    """Every fault, or pair of faults, that ends badly or that could not be shown."""
    with tempfile.TemporaryDirectory() as store:
        proof = prove(
            loop, runs=cases, pairs=pairs, today=TODAY, store=Path(store), engine="compiled"
        )
    return proof.badly + [f"{pair.first} with {pair.second}" for pair in proof.pair_escapes]


def hunted(loop, runs):
    """The worst night and what it misses, and the phase in which the board never was."""
    found = hunt(Stage(loop, engine="compiled", today=TODAY), runs=runs, seed=1)
    night = None
    if found.escaped and not found.astray:
        night = found.worst.case.key, found.worst.outcome.missed
    return {"astray": found.astray and found.astray.phase, "night": night}


def main():
    """Prints one line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--loop", required=True)
    parser.add_argument("--cases", type=int, required=True)
    parser.add_argument("--runs", type=int, required=True)
    asked = parser.parse_args()
    loop = read_loop(asked.loop)
    try:
        Stage(loop, engine="compiled", today=TODAY)
    except ValueError as error:
        print(json.dumps({"campaign": [f"refused: {error}"], "hunt": {}}))
        return
    bad = campaign(loop, asked.cases, False) or campaign(loop, 1, True)
    print(json.dumps({"campaign": bad, "hunt": hunted(loop, asked.runs)}))


if __name__ == "__main__":
    main()
