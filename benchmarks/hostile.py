"""A hostile wire: random bytes, random lines, and mutated true ones, at a board that is running.

    python -m benchmarks.hostile [--lines 10000000] [--seed 1]

Told: how many were thrown at it, how many of them were taken for a line (true ones that a mutation
left as they were are not counted, none was sent), whether its state or its tick ever moved, and the
memory of the process after a tenth and at the end.
"""

from __future__ import annotations

import argparse
import random
import resource
import time
import tracemalloc

from coilward.controller.types import Requests
from tests.controller.rig import healthy
from tests.hil.pairs import CONSTANTS, CONVERT, pair, running

BATCH = 1000
KINDS = ("bytes", "text", "mutated", "spliced", "cut")
TEXT = b"cw1 0123456789abcdef_=.*-+eEinfABCDEF\n"


def thrown(rng, kind, true):
    """One piece that no true side would send, with its line's end."""
    line = rng.choice(true)
    if kind == "bytes":
        return rng.randbytes(rng.randrange(1, 200)) + b"\n"
    if kind == "text":
        return bytes(rng.choices(TEXT, k=rng.randrange(1, 200))) + b"\n"
    if kind == "cut":
        return line[: rng.randrange(1, len(line))] + b"\n"
    if kind == "spliced":
        other = rng.choice(true)
        piece = line[: rng.randrange(len(line))] + other[rng.randrange(len(other)) :]
        return (piece if piece not in true else piece[1:]) + b"\n"
    changed = bytearray(line)
    for _ in range(rng.randrange(1, 6)):
        changed[rng.randrange(len(changed))] ^= rng.randrange(1, 256)
    return (bytes(changed) if bytes(changed) not in true else changed[1:]) + b"\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lines", type=int, default=10_000_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    plant, board = pair()
    plant.greet(5.0)
    plant.set_state(running(), 5.0)
    raw = CONVERT.raw(healthy(CONSTANTS))
    plant.exchange(1, raw, Requests(), 5.0)
    true = tuple(line.text for line in plant.link.lines if line.sent)
    before, rng, port = board.state, random.Random(asked.seed), board.link.port
    good, began_s, moved = board.link.decoder.good, time.monotonic(), 0
    tracemalloc.start()
    early = 0
    for batch in range(asked.lines // BATCH):
        kind = KINDS[batch % len(KINDS)]
        port.comes.append(b"".join(thrown(rng, kind, true) for _ in range(BATCH)))
        board.serve()
        moved += board.state is not before or board.tick != 1
        port.goes.clear()
        if batch == asked.lines // BATCH // 10:
            early = tracemalloc.get_traced_memory()[0]
    late = tracemalloc.get_traced_memory()[0]
    taken = board.link.decoder.good - good
    print(f"{asked.lines} lines of {', '.join(KINDS)}: {taken} taken, {moved} times moved")
    print(f"memory after a tenth {early / 1024:.0f} kB, at the end {late / 1024:.0f} kB; "
          f"resident {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")
    print(f"{asked.lines / (time.monotonic() - began_s):.0f} lines a second")
    answer = plant.exchange(2, raw, Requests(), 5.0)
    print(f"and then the next tick is decided: pump {answer.commands.pump}")


if __name__ == "__main__":
    main()
