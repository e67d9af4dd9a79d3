"""Random faulted burns, recorded in closed loop and replayed by a fine integrator."""

from __future__ import annotations

from datetime import date
from functools import cache

import numpy as np

from coilward.controller.constants import constants_for
from coilward.controller.decide import decide
from coilward.controller.phases import RUN
from coilward.controller.state import YES, first_state
from coilward.controller.types import Requests
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator import slots as at
from coilward.simulator.closed import advance, catch_up, disturb, obey
from coilward.simulator.engine import compiled
from coilward.simulator.faults.injecting import Injector
from coilward.simulator.night import Moment
from coilward.simulator.parameters import noise_table, parameters, running
from coilward.simulator.sensors import read
from coilward.simulator.wood import reload
from tests.simulator.reference import rk4

TODAY = date(2026, 11, 25)
LOOPS = ("boathouse", "greenhouse", "hot-tub")
FINE_S = 0.0125
FAULTS = (
    "pump-dies", "pump-stalls", "pump-weak", "fans-fail", "valve-jams", "outlet-a-open",
    "meter-dead", "meter-high", "supply-low", "fire-larger", "damper-stuck", "dump-stuck",
    "level-low", "line-frozen",
)
TOLD = (at.TOLD_PUMP, at.TOLD_VALVE, at.TOLD_FANS, at.TOLD_DAMPER, at.TOLD_DUMP, at.CONTACT)
COMPARED = (at.STUB, at.WATER_ + at.COIL_CELLS - 1, at.WALL_ + at.COIL_CELLS - 1, at.TANK_TOP,
            at.TANK_BOTTOM, at.HOT_ + at.LINE_CELLS - 1, at.CORE_, at.ROOM_AIR)  # fmt: skip


def recorded(y, p, noise, told, truth, state, constants, requests, tick, until):
    """The closed loop, with the outputs of every tick and the truth of every second."""
    a_second = int(p[at.TICKS_PER_S])
    while tick < until:
        decision = decide(read(y, p, tick * p[at.TICK_S]), requests, state, constants)
        state = decision.state
        obey(y, p, noise, tick, decision.commands)
        for k in range(len(TOLD)):
            told[tick * len(TOLD) + k] = y[TOLD[k]]
        advance(y, p, noise, tick)
        tick += 1
        if tick % a_second == 0:
            row = tick // a_second * (len(COMPARED) + 1)
            for k in range(len(COMPARED)):
                truth[row + k] = y[COMPARED[k]]
            icing = 0.0 < y[at.PASSING] < 1.0
            truth[row + len(COMPARED)] = 1.0 if y[at.BOILED_S] >= 0.0 or icing else 0.0
    catch_up(y, p, noise, tick)
    return state


def replayed(y, p, told, truth, tick, until, parts, k1, k2, k3, k4, work):
    """The same outputs, tick by tick, on the fine integrator."""
    a_second = int(p[at.TICKS_PER_S])
    h_s = p[at.TICK_S] / parts
    while tick < until:
        for k in range(len(TOLD)):
            y[TOLD[k]] = told[tick * len(TOLD) + k]
        rk4(y, p, h_s, parts, k1, k2, k3, k4, work)
        tick += 1
        if tick % a_second == 0:
            row = tick // a_second * (len(COMPARED) + 1)
            for k in range(len(COMPARED)):
                truth[row + k] = y[COMPARED[k]]


@cache
def engines():
    """Both passes, compiled."""
    return compiled(recorded), compiled(replayed)


def script(rng, duration_s, tick_s):
    """What happens in one burn: (tick, what), in order of time."""
    happens = []
    for _ in range(rng.integers(2, 5)):
        begin_s = rng.uniform(60, duration_s * 0.8)
        lasts_s = float(rng.choice([3.0, 20.0, 300.0, 3600.0]))
        name = str(rng.choice(FAULTS))
        happens.append((round(begin_s / tick_s), "fault", (name, round(lasts_s / tick_s))))
    for begin_s in np.arange(rng.uniform(0, 900), duration_s, rng.uniform(600, 2400)):
        wood = (f"{rng.uniform(0.2, 1.2):.2f} charge", rng.uniform(0.1, 0.4), rng.uniform(0.4, 3))
        happens.append((round(begin_s / tick_s), "reload", wood))
    if rng.random() < 0.3:
        happens.append((round(rng.uniform(0, duration_s) / tick_s), "hold", rng.uniform(0.7, 1.6)))
    return sorted(happens, key=lambda item: (item[0], item[1]))


def act(y, p, loop, faults, what, detail, tick, due):
    """One happening on one of the two plants."""
    disturb(y, p)
    if what == "fault":
        name, lasts = detail
        due.append((tick + lasts, faults.begin(name, None)))
    elif what == "reload":
        mass, moisture, lively = detail
        wood = {"at": "0 s", "do": "reload", "mass": mass, "moisture": moisture, "lively": lively}
        reload(y, p, loop, Moment.model_validate(wood))
    elif what == "hold":
        y[at.HOLD_W] = detail * p[at.NOMINAL_W]
    else:
        faults.clear(detail)


def burn(seed, duration_s, fine_s=FINE_S):
    """One random burn: worst difference, K, when, s, and which column of COMPARED.

    Judged up to the first boil, or until ice begins to narrow a line: from there a thousandth
    of a kelvin decides on the second in which the flow stops.
    """
    quick, exact, happens = both(seed, duration_s, fine_s)
    ended = np.flatnonzero(quick[:, -1] > 0.0)
    until_s = ended[0] if len(ended) else len(quick)
    off_k = np.abs(quick[1:until_s, :-1] - exact[1:until_s, :-1])
    second, column = np.unravel_index(np.argmax(off_k), off_k.shape)
    return float(off_k.max()), int(second) + 1, int(column), happens


def both(seed, duration_s, fine_s):
    """The truth of every second on both integrators, and what happened."""
    rng = np.random.default_rng(seed)
    loop = read_loop(LOOPS[seed % 3])
    derived = derive(loop, TODAY)
    constants = constants_for(loop, derived)
    end = round(duration_s / loop.tick_s)
    happens = script(rng, duration_s, loop.tick_s)
    record, replay = engines()
    told = np.zeros(end * len(TOLD))
    truths = []
    for fine in (False, True):
        p = np.array(parameters(loop, derived, loop.site.outdoor_c))
        y = np.array(running(loop, derived, p.tolist()))
        y[at.MOMENT_TICKS] = 120.0 / loop.tick_s
        faults = Injector(y, p, 2)
        noise = np.array(noise_table(seed))
        truth = np.full((int(duration_s) + 1) * (len(COMPARED) + 1), np.nan)
        state = first_state(constants, RUN, YES)
        work = [np.zeros(at.Y_COUNT) for _ in range(5)]
        parts = round(loop.tick_s / fine_s)
        todo, due, tick = list(happens), [], 0
        while tick < end:
            coming = [item[0] for item in todo[:1]] + [item[0] for item in due] + [end]
            until = max(tick, min(min(coming), end))
            if fine:
                replay(y, p, told, truth, tick, until, parts, *work)
            else:
                state = record(
                    y, p, noise, told, truth, state, constants, Requests(), tick, until
                )
            tick = until
            for item in [item for item in due if item[0] <= tick]:
                due.remove(item)
                act(y, p, loop, faults, "clear", item[1], tick, due)
            while todo and todo[0][0] <= tick:
                _, what, detail = todo.pop(0)
                act(y, p, loop, faults, what, detail, tick, due)
        truths.append(truth.reshape(-1, len(COMPARED) + 1))
    return truths[0], truths[1], happens
