"""How many times faster than the clock a journal replays, and whether it stays the same.

    python -m benchmarks.replay [--hours 8] [--speeds 100 10000] [--minutes-at-one 0]

A night of the greenhouse with the pump's death in it is recorded, and replayed flat out and held
back. The ratio is by the wall clock, and by the processor's time, which other work doesn't touch.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from coilward.hil.journal.keeping import Keeper
from coilward.hil.journal.reader import Reader
from coilward.hil.replay.replaying import replay
from tests.hil.made import constants, night, session


def record(path, hours):
    """The journal of a night, its pump dead after seven eighths of it."""
    made = night("pump-dies", f"{hours} h", f"{hours * 0.875} h")
    keeper = Keeper(path, session(), made.first)
    for tick in made.ticks:
        keeper.take(tick)
        if tick.number % 240 == 239:
            keeper.write_chunk()
    keeper.close()


def main():
    """Prints the ratios; leaves with 1 where a replay isn't the same."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=8.0)
    parser.add_argument("--speeds", type=float, nargs="*", default=[10_000.0, 100.0])
    parser.add_argument("--minutes-at-one", type=float, default=0.0)
    asked = parser.parse_args()
    same = True
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "night"
        record(path, asked.hours)
        print(f"{asked.hours:g} h of journal: {path.stat().st_size / 1e6:.1f} MB")
        with Reader(path) as reader:
            [found] = reader.sessions()
            replay(reader, found, constants(), engine="compiled", last=1000)
            best, best_cpu = 0.0, 0.0
            for _ in range(5):
                began_s = time.process_time()
                done = replay(reader, found, constants(), engine="compiled")
                cpu_s = time.process_time() - began_s
                best_cpu = max(best_cpu, done.ticks * found.tick_s / cpu_s)
                best, same = max(best, done.x_real_time), same and done.differs is None
            print(f"flat out: {best:,.0f} times the clock by the wall, {best_cpu:,.0f} by the "
                  f"processor's time; {'identical' if same else 'NOT identical'}")
            pace = [(speed, None) for speed in asked.speeds]
            if asked.minutes_at_one:
                last = round(60.0 * asked.minutes_at_one / found.tick_s) - 1
                pace.append((1.0, last))
            for speed, last in pace:
                done = replay(reader, found, constants(), engine="compiled", speed=speed, last=last)
                same = same and done.differs is None
                told = "identical" if done.differs is None else f"differs at {done.differs.number}"
                print(f"at {speed:,.0f}: {done.ticks:,} ticks, {done.x_real_time:,.1f} times the "
                      f"clock; {told}")
    sys.exit(0 if same else 1)


if __name__ == "__main__":
    main()
