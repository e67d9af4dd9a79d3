"""How many times faster than real time: closed loop, a faulted burn of four hours, one core.

    python -m benchmarks.speed [--interpreted-minutes 240]

Prints ratios of one run, so that a slower machine changes all of them alike. scipy's odeint
integrates the same plant from tick to tick with a compiled right-hand side and without a
board, which favours it.
"""

from __future__ import annotations

import argparse
import math
import time
from datetime import date

import numpy as np
from scipy.integrate import odeint

from coilward.controller.constants import constants_for
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator import slots as at
from coilward.simulator.engine import compiled
from coilward.simulator.night import Night
from coilward.simulator.parameters import parameters, running
from coilward.simulator.rehearsal import Rehearsal
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
    derived = derive(loop, TODAY)
    constants = constants_for(loop, derived)
    best_s = math.inf
    for _ in range(rounds):
        rehearsal = Rehearsal(loop, burn(duration_s), derived, constants, 1, engine)
        rehearsal.settle()
        began_s = time.process_time()
        rehearsal.play(None)
        best_s = min(best_s, time.process_time() - began_s)
    return duration_s / best_s


def odeint_alone(loop, duration_s):
    """The plant by odeint, restarted at every tick, times real time."""
    derived = derive(loop, TODAY)
    p = np.array(parameters(loop, derived, loop.site.outdoor_c))
    y = np.array(running(loop, derived, p.tolist()))
    slopes = compiled(all_slopes)
    work = np.zeros(at.Y_COUNT)

    def right_side(state, _):
        slopes(state, p, work)
        return work

    y[np.isnan(y)] = 0.0
    odeint(right_side, y, [0.0, loop.tick_s])
    best_s = math.inf
    for _ in range(3):
        began_s = time.process_time()
        for _ in range(round(duration_s / loop.tick_s)):
            y = odeint(right_side, y, [0.0, loop.tick_s], rtol=1e-5, atol=1e-3)[-1]
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
            fast = closed_loop(loop, "compiled", BURN_S, 5)
            slow = closed_loop(loop, "interpreted", short_s, 2)
            other = odeint_alone(loop, 120.0)
            print(f"{name:11s} tick {tick_s:4.2f} s: compiled {fast:11,.0f}  interpreted "
                  f"{slow:8,.0f}  odeint, no board {other:8,.0f}  compiled/odeint "
                  f"{fast / other:6.0f}")


if __name__ == "__main__":
    main()
