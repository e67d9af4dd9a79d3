"""What a kill -9 costs the fire: `coilward run` over a pretended board, and a killer.

    python -m benchmarks.killed_run [--times 1000] [--seed 1]

Each board plays a night in which something happens, and is driven by five runs in a row, each
killed at a moment of its own, from before its first tick on, and some followed by nobody for a
while. Told, and each a reason to leave with 1: a journal that does not open or is damaged, ticks
lost before the last second, a run that does not begin from the state that the journal ends with, a
latch or a fire that is gone, a pump that is started into a coil that by the simulator's truth may
be dry.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from itertools import pairwise
from pathlib import Path

from coilward.controller.phases import PHASES
from coilward.controller.state import NO, after_reboot
from coilward.desk.run import Asked, run_loop
from coilward.hil.journal.check import check
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.store import is_bare
from coilward.loop.shipped import WRITTEN
from tests.hil.watched_board import rows_of

IN_A_ROW = 5
"""A third restart within ten minutes calls for a burn-down: more would show little else."""
TIMES = 10.0
"""Faster than the clock: the board's, while a kill and the journal go by the clock."""
HOT_K = 8.0
"""A wall so much over boiling, with still water, is one that may be dry."""
FAULTS = {
    "nothing happens": "",
    "the pump dies": 'fault = "pump-dies"',
    "the pump is held fast": 'fault = "pump-stalls"\nfor = "12 s"',
    "the supply blinks": 'fault = "supply-returns"\nsize = 4',
    "the supply is away": 'fault = "supply-returns"\nsize = 45',
    "the meter dies": 'fault = "meter-dead"',
    "the tank runs out": 'fault = "leak-fast"\nsize = 5',
}


def night(name, at_s):
    """A night that begins with a steady fire, and has one fault."""
    fault = FAULTS[name]
    moment = f'[[moment]]\nat = "{at_s:.0f} s"\ndo = "fault"\n{fault}\n' if fault else ""
    return f'coilward = 1\nname = "{name}"\nduration = "2 h"\nstart = "running"\n{moment}'


def killed_after(port, journal, after_s):
    """One run, as the command starts it, in a process of its own. Tells when it was killed."""
    child = os.fork()
    if child == 0:
        silent = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silent, 1)
        os.dup2(silent, 2)
        run_loop(Asked("greenhouse", WRITTEN, port, False, "", 1.0, str(journal), 0, None))
        os._exit(3)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    killed_s = time.time()
    _, status = os.waitpid(child, 0)
    return killed_s if os.WIFSIGNALED(status) else None


def board(folder, name, draw, deaths):
    """Runs over one board: when each began and was killed, and the two records."""
    plan, truth, journal = folder / "night.toml", folder / "truth.csv", folder / "run.journal"
    plan.write_text(night(name, draw.uniform(5.0, 60.0)), "utf-8")
    command = [sys.executable, "-m", "tests.hil.watched_board", truth, "greenhouse", "--on", "tcp",
               "--times", str(TIMES), "--night", plan, "--today", str(WRITTEN)]  # fmt: skip
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        try:
            port = process.stdout.readline().strip()
            assert port, "the board does not start"
            for _ in range(deaths):
                began_s = time.time()
                yield began_s, killed_after(port, journal, draw.uniform(0.0, 2.5)), journal, truth
                time.sleep(draw.choice((0.0, 0.0, draw.uniform(0.0, 6.0))))
        finally:
            process.kill()


def lost_s(began_s, killed_s, journal, truth):
    """Seconds before the kill from which on what the board was told is not in the journal."""
    kept = []
    if not is_bare(journal):
        with Reader(journal) as reader:
            kept = [number for each in reader.sessions() for number in times_s(reader, each)]
    last_s = max(kept, default=-1.0)
    told = [row.wall_s for row in rows_of(truth)
            if row.answered and row.wall_s > began_s and row.time_s > last_s]  # fmt: skip
    return max(0.0, killed_s - min(told)) if told else 0.0


def times_s(reader, session):
    """The board's times of what is there."""
    return reader.columns(session, ("time_s",))["time_s"].tolist()


def missing(journal, truth):
    """Ticks that were answered and are not there, though later ones of the same run are."""
    answered = {row.time_s for row in rows_of(truth) if row.answered}
    with Reader(journal) as reader:
        for session in reader.sessions():
            kept = times_s(reader, session)
            for time_s in sorted(answered.difference(kept)):
                if kept and kept[0] < time_s < kept[-1]:
                    yield f"the tick at {time_s} s was answered, and is not in the journal"


def broken(journal):
    """What a run that was started again has not gone on with, in words; and the ways it went."""
    found, ways = [], Counter()
    with Reader(journal) as reader:
        lived = [(each, reader.span(each)) for each in reader.sessions()]
        lived = [(each, span) for each, span in lived if span is not None]
        for (before, was), (after, span) in pairwise(lived):
            left = reader.tick_at(before, was[1]).state
            begun = reader.origins(after).get(span[0])
            if begun is None or repr(begun) != repr(after_reboot(left)):
                found.append(f"session {after.number} begins elsewhere than {before.number} ended")
            names = ("mode_phase", "mode_fire", "mode_dry", "mode_latched", "pump")
            ticks = reader.columns(after, names)
            if left.mode.fire != NO and (ticks["mode_fire"] == NO).any():
                found.append(f"session {after.number} forgot the fire")
            if left.mode.dry and (ticks["pump"].any() or not ticks["mode_dry"].all()):
                found.append(f"session {after.number} forgot that the coil may be dry")
            if (left.mode.latched & ~ticks["mode_latched"]).any():
                found.append(f"session {after.number} forgot a latch")
            phase = PHASES[int(ticks["mode_phase"][-1])]
            ways[f"{PHASES[left.mode.phase]} -> {phase}"] += 1
    return found, ways


def bad_starts(truth):
    """Starts of the pump, and those of them into a coil that may be dry, in words."""
    rows = rows_of(truth)
    starts = [now for was, now in pairwise(rows) if now.pump and not was.pump]
    return len(starts), [
        f"the pump is started at {row.time_s} s into a coil that may be dry" for row in starts
        if row.dry or row.boiling_still_s > 0.0 or row.over_boiling_k > HOT_K
    ]  # fmt: skip


def main():
    """Prints each thing that is not as it should be, and what was seen."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    draw, most_s, found = random.Random(asked.seed), 0.0, []
    ways, starts, dry, done, number = Counter(), 0, 0, 0, 0
    while done < asked.times:
        name = list(FAULTS)[number % len(FAULTS)]
        number += 1
        with tempfile.TemporaryDirectory() as folder:
            deaths = min(IN_A_ROW, asked.times - done)
            for began_s, killed_s, journal, truth in board(Path(folder), name, draw, deaths):
                done += 1
                if killed_s is None:
                    found.append(f"{name}: a run ended before it was killed")
                else:
                    most_s = max(most_s, lost_s(began_s, killed_s, journal, truth))
            damaged = [words for words in check(journal).faults if "are missing" not in words]
            lacking = missing(journal, truth)
            wrong, went = broken(journal)
            begun, bad = bad_starts(truth)
            found += [f"{name}: {words}" for words in (*damaged, *lacking, *wrong, *bad)]
            ways, starts = ways + went, starts + begun
            dry += any(row.dry for row in rows_of(truth))
        print(f"{done} killed, {len(found)} found", file=sys.stderr)
    print(f"killed {done} times over {number} boards: at most {most_s:.3f} s lost")
    print(f"the pump was started {starts} times; the coil boiled dry on {dry} boards")
    for way, count in ways.most_common():
        print(f"{count:5} {way}")
    print("\n".join(found) or "nothing is not as it should be")
    sys.exit(1 if most_s > 1.0 or found else 0)


if __name__ == "__main__":
    main()
