"""How fast a campaign is: burns of four hours a minute, cost against runs, memory against runs.

    python -m benchmarks.campaign [--loop greenhouse] [--workers 2] [--burns 2000]

A burn is a case of the catalogue that goes on until the night is four hours long. Rates are by
the clock and take in all that a case costs: start, night, requirements. The ratios hold on a
machine of any speed.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date
from multiprocessing import get_context
from pathlib import Path

from coilward.loop.document import read_loop
from coilward.proving.campaign import prove, why_not
from coilward.proving.case import Case
from coilward.proving.stage import Stage
from coilward.simulator.faults import FAULTS

TODAY = date(2026, 11, 25)
BURN_S = 14400.0
STAGES: dict[str, Stage] = {}
MEET = None


def cases(loop, count):
    """Cases of all faults that can be tried, by turns, that start in the run phase."""
    names = [row.name for row in FAULTS.values() if not why_not(row, loop) and "run" in row.phases]
    found, index = [], 0
    stage = stage_of(loop)
    while len(found) < count:
        for name in names:
            case = Case((name,), index, 1)
            if stage.story(case).phase == "run":
                found.append(case)
        index += 1
    return found[:count]


def stage_of(loop):
    """The stage of this process."""
    if loop.name not in STAGES:
        STAGES[loop.name] = Stage(loop, engine="compiled", today=TODAY)
    return STAGES[loop.name]


def burns(loop, some):
    """Plays cases as burns of four hours."""
    stage = stage_of(loop)
    for case in some:
        told = stage.story(case)
        stage.play_story(replace(told, lasts_s=BURN_S - told.onset_s))
    return len(some)


def meet_at(barrier):
    """Where the workers of this pool wait for each other."""
    global MEET
    MEET = barrier


def warm(loop, some):
    """Makes this worker's stage, and keeps the worker from taking another's turn."""
    burns(loop, some)
    MEET.wait()


def rate(loop, some, workers):
    """Burns a minute, after every worker has made its stage."""
    context = get_context("spawn")
    meet = context.Barrier(workers)
    with ProcessPoolExecutor(
        workers, mp_context=context, initializer=meet_at, initargs=(meet,)
    ) as pool:
        for each in [pool.submit(warm, loop, some[:4]) for _ in range(workers)]:
            each.result()
        began_s = time.perf_counter()
        parts = [some[n : n + 10] for n in range(0, len(some), 10)]
        done = sum(pool.map(burns, [loop] * len(parts), parts))
        return 60.0 * done / (time.perf_counter() - began_s)


def campaign(name, runs):
    """Seconds and peak memory, MB, of a whole campaign, without making its stage."""
    loop, faults = read_loop(name), ["pump-stalls", "outlet-a-open", "fans-fail"]
    with tempfile.TemporaryDirectory() as folder:
        prove(loop, faults=faults, runs=1, engine="compiled", today=TODAY, store=Path(folder))
    with tempfile.TemporaryDirectory() as folder:
        began_s = time.process_time()
        prove(loop, faults=faults, runs=runs, engine="compiled", today=TODAY, store=Path(folder))
        took_s = time.process_time() - began_s
    return took_s, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def apart(name, runs):
    """The same in a process of its own, whose peak is nobody else's."""
    command = [sys.executable, "-m", "benchmarks.campaign", "--loop", name, "--alone", str(runs)]
    told = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
    return float(told[0]), float(told[1])


def main():
    """Prints the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--loop", default="greenhouse")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--burns", type=int, default=2000)
    parser.add_argument("--runs", type=int, default=60)
    parser.add_argument("--alone", type=int)
    told = parser.parse_args()
    if told.alone:
        print(*campaign(told.loop, told.alone))
        return
    loop = read_loop(told.loop)
    some = cases(loop, told.burns)
    burns(loop, some[:4])
    few = some[:200]
    began_s = time.process_time()
    burns(loop, few)
    alone_s = (time.process_time() - began_s) / len(few)
    print(f"{told.loop}: a burn of four hours takes {1e3 * alone_s:.1f} ms of one processor, "
          f"{BURN_S / alone_s:,.0f} times real time")
    many = rate(loop, some, told.workers)
    print(f"{told.workers} workers: {many:,.0f} burns a minute")
    few_s, few_mb = apart(told.loop, told.runs)
    twice_s, _ = apart(told.loop, 2 * told.runs)
    _, more_mb = apart(told.loop, 4 * told.runs)
    print(f"runs {told.runs} -> {2 * told.runs} a fault: cost x{twice_s / few_s:.2f}")
    print(f"runs {told.runs} -> {4 * told.runs} a fault: peak memory {few_mb:.0f} MB, "
          f"x{more_mb / few_mb:.3f}")


if __name__ == "__main__":
    main()
