"""A child that writes a journal as fast as a board of a hundred ticks a second, and is killed.

    python -m tests.hil.killing FILE SEED

Every tick carries the machine's monotonic clock, and is told on standard output once it is put.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import NamedTuple

from coilward.hil.journal.checking import check
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.writer import Writer
from tests.hil.ticks import session, ticks

TICK_S = 0.01


class Killed(NamedTuple):
    """What a killed writer left behind."""

    put: int
    """Ticks that the child had put."""
    lost_s: float
    """From the newest tick in the file to the last one that was put."""
    findings: list[str]


def child(path: str, seed: int) -> None:
    """Writes until it is killed."""
    made = list(ticks(400, seed=seed, no_flow_at=100))
    writer = Writer(path, session())
    number = 0
    while True:
        tick = made[number % len(made)]
        now_s = time.monotonic()
        writer.put(tick._replace(number=number, wall_s=now_s), [(now_s, True, b"a line")])
        sys.stdout.write(f"{number} {now_s!r}\n")
        sys.stdout.flush()
        number += 1
        time.sleep(TICK_S)


def kill_one(path: Path, seed: int) -> Killed:
    """Starts a child and kills it at a random moment."""
    chance = random.Random(seed)
    command = [sys.executable, "-m", "tests.hil.killing", str(path), str(seed)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        told = [process.stdout.readline()]
        time.sleep(chance.uniform(0.0, 1.5))
        process.send_signal(signal.SIGKILL)
        told += process.stdout.read().splitlines()
    number, at_s = next(line.split() for line in reversed(told) if line.count(" ") == 1)
    last_s = 0.0
    if path.exists() and path.stat().st_size:
        with Reader(path) as reader:
            last = reader.last()
            last_s = last.wall_s if last is not None else 0.0
    first_s = float(told[0].split()[1])
    lost_s = float(at_s) - (last_s if last_s else first_s)
    return Killed(int(number) + 1, lost_s, check(path).findings if last_s else [])


if __name__ == "__main__":
    child(sys.argv[1], int(sys.argv[2]))
