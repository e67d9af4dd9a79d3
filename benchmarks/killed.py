"""What a kill -9 costs the journal: a process that writes two hundred ticks a second, and a killer.

    python -m benchmarks.killed [--times 1000] [--seed 1] [--json]

Each process is killed at a moment of its own, ten in a row on the same file, as a run that is
started again and again. Told: the longest time before the kill of which a tick is lost, and
every fault that is found in a file.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import sys
import tempfile
import time
from pathlib import Path

from coilward.hil.journal.check import check
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.writer import Writer
from tests.hil.made import night, session

EVERY_S = 0.005
IN_A_ROW = 10


def write(path, told):
    """Puts ticks for ever, and tells each with its time before it is put."""
    made = night()
    writer, number = Writer(path, session(), made.first), 0
    while True:
        tick = made.ticks[number % len(made.ticks)]
        os.write(told, f"{number} {time.monotonic()}\n".encode())
        writer.put(tick._replace(number=number), (b"a line of the wire",))
        number += 1
        time.sleep(EVERY_S)


def kill_one(path, after_s):
    """Seconds before the kill from which on ticks are lost."""
    read, told = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        write(path, told)
    os.close(told)
    with os.fdopen(read) as lines:
        said = [lines.readline()]
        time.sleep(after_s)
        os.kill(child, signal.SIGKILL)
        killed_s = time.monotonic()
        os.waitpid(child, 0)
        said += lines.readlines()
    put_s = [float(line.split()[1]) for line in said if line.endswith("\n")]
    with Reader(path) as reader:
        span = reader.span(reader.sessions()[-1])
    lost = put_s[0 if span is None else span[1] + 1 :]
    return max(killed_s - lost[0], 0.0) if lost else 0.0


def main():
    """Prints the longest loss; leaves with 1 where it is more than a second, or a file is bad."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    draw, most_s, faults = random.Random(asked.seed), 0.0, []
    night()
    with tempfile.TemporaryDirectory() as folder:
        for number in range(asked.times):
            path = Path(folder) / f"{number // IN_A_ROW}"
            most_s = max(most_s, kill_one(path, draw.uniform(0.0, 0.4)))
            faults += check(path).faults
    if asked.json:
        print(json.dumps({"killed": asked.times, "most_lost_s": most_s, "faults": faults}))
    else:
        print(f"killed {asked.times} times: at most {most_s:.3f} s lost, {len(faults)} faults")
    sys.exit(1 if most_s > 1.0 or faults else 0)


if __name__ == "__main__":
    main()
