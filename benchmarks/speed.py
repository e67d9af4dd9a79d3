"""How many times faster than real time: closed loop, a faulted burn of four hours, one core.

    python -m benchmarks.speed [--interpreted-minutes 240]

Prints ratios of one run, so that a slower machine changes all of them alike. scipy's odeint
integrates the same plant from tick to tick with a compiled right-hand side, once in closed loop
with the compiled board and once the plant alone.
"""

from __future__ import annotations

import argparse
import math
import time
from datetime import date

import numpy as np
from scipy.integrate import odeint

from coilward.controller.constants import constants_for
from coilward.controller.decide import decide
from coilward.controller.phases import RUN
from coilward.controller.state import YES, first_state
from coilward.controller.types import Requests
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator import slots as at
from coilward.simulator.bench import Bench
from coilward.simulator.engine import compiled
from coilward.simulator.night import Night
from coilward.simulator.parameters import parameters, running
from coilward.simulator.rehearsal import Rehearsal
from coilward.simulator.sensors import read
from tests.simulator.reference import all_slopes

TODAY = date(2026, 11, 25)
BURN_S = 14400.0


def burn(duration_s):
    """Reloads, a stall, a jam, a lost thermometer and a weak pump."""
    reloads = [
        {"at": f"{k} s", "do": "reload", "mass": "0.33 charge", "lively": 0.8}
        for k in range(60, int(duration_s), 900)
    ]
    faults = [
        (0.15, "pump-stalls", "4 s"), (0.3, "outlet-a-open", "10 min"),
        (0.5, "pump-weak", "20 min"), (0.7, "valve-jams", "10 min"),
    ]
    moments = [
        {"at": f"{share * duration_s} s", "do": "fault", "fault": name, "for": lasts}
        for share, name, lasts in faults
    ]
    return Night.model_validate({
        "coilward": 1, "name": "burn", "duration": f"{duration_s} s", "start": "running",
        "moment": reloads + moments,
    })  # fmt: skip


def closed_loop(loop, engine, duration_s, rounds):
    """Best of some runs, times real time, by the processor's time: other work does not count."""
    bench, night = Bench(loop, TODAY, engine), burn(duration_s)
    best_s = math.inf
    for _ in range(rounds):
        rehearsal = Rehearsal(bench, night, bench.start(night), 1)
        began_s = time.process_time()
        rehearsal.play(None)
        best_s = min(best_s, time.process_time() - began_s)
    return duration_s / best_s


def odeint_loop(loop, duration_s, *, board):
    """The plant by odeint from tick to tick, with or without the compiled board, times real time.

    scipy's integrator leaves compiled code at every tick, so the board is called from Python.
    """
    derived = derive(loop, TODAY)
    constants = constants_for(loop, derived)
    p = np.array(parameters(loop, derived, loop.site.outdoor_c))
    y = np.array(running(loop, derived, p.tolist()))
    slopes, sees, decides = compiled(all_slopes), compiled(read), compiled(decide)
    work = np.zeros(at.Y_COUNT)

    def right_side(state, _):
        slopes(state, p, work)
        return work

    def tick(y, state, number):
        y = odeint(right_side, y, [0.0, loop.tick_s])[-1]
        if board:
            readings = sees(y, p, number * loop.tick_s)
            state = decides(readings, Requests(), state, constants).state
        return y, state

    y[np.isnan(y)] = 0.0
    state = first_state(constants, RUN, YES)
    y, state = tick(y, state, 0)
    best_s = math.inf
    for _ in range(3):
        began_s = time.process_time()
        for number in range(round(duration_s / loop.tick_s)):
            y, state = tick(y, state, number)
        best_s = min(best_s, time.process_time() - began_s)
    return duration_s / best_s


def main():
    """Prints the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--interpreted-minutes", type=float, default=240.0)
    short_s = 60.0 * parser.parse_args().interpreted_minutes
    for name in ("boathouse", "greenhouse", "hot-tub"):
        for tick_s in (0.25, 1.0):
            loop = read_loop(name).model_copy(update={"tick_s": tick_s})
            fast = closed_loop(loop, "compiled", BURN_S, 20)
            slow = closed_loop(loop, "interpreted", short_s, 2)
            plant = odeint_loop(loop, 120.0, board=False)
            closed = odeint_loop(loop, 120.0, board=True)
            print(f"{name:11s} tick {tick_s:4.2f} s: compiled {fast:11,.0f}  interpreted "
                  f"{slow:8,.0f}  odeint with board {closed:8,.0f}, plant alone {plant:8,.0f}  "
                  f"ratio {fast / closed:5.0f}, against the plant alone {fast / plant:4.0f}")


if __name__ == "__main__":
    main()
