"""One night in closed loop: simpy carries the moments, one call runs from each to the next."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Generator
from datetime import date
from typing import Any

import simpy

from coilward.controller.types import Requests
from coilward.loop.model import Loop
from coilward.loop.units import show
from coilward.simulator import slots as at
from coilward.simulator.audit import audit, stored_j
from coilward.simulator.bench import OURS, Bench, Start
from coilward.simulator.closed import disturb, note, sample, signal
from coilward.simulator.engine import Engine
from coilward.simulator.faults import FAULTS, Act
from coilward.simulator.faults.injecting import Injector
from coilward.simulator.faults.power import REBOOT_S
from coilward.simulator.logic import Logic, LogicDied
from coilward.simulator.night import Moment, Night, Wood
from coilward.simulator.parameters import NEVER_S, judge_afresh
from coilward.simulator.power import board_away, supply_away
from coilward.simulator.run import (
    INTERNAL,
    Died,
    Entry,
    Final,
    Margins,
    Peaks,
    Run,
    at_limits_s,
    causes_of,
    columns,
    entries,
    minimum_lpm,
    phases_of,
)
from coilward.simulator.sensors import read
from coilward.simulator.wood import light, reload

MARKS = 50
BUTTONS = {
    "prepare": ("prepare", 0.0, "the check is asked for"),
    "finish": ("finish", 0.0, "the last load is told"),
    "silence": ("silence", 0.0, "the horn is silenced"),
    "reset": ("reset", 3.0, "reset is pressed"),
    "emergency": ("emergency", 1.0, "the emergency button is pressed"),
    "declare-out": ("declare_out", 0.0, "the fire is declared out"),
    "remote": ("remote_unsafe", 0.0, "a remote request toward the unsafe side"),
}
"""Act: request, how long it is held (at least a tick), words."""

Progress = Callable[[float], None]
Process = Generator[simpy.Event, Any, None]


class Rehearsal:
    """The plant, the board and the moments of one night."""

    def __init__(
        self, bench: Bench, night: Night, start: Start, seed: int, *, signalled: bool = False
    ) -> None:
        """Everything at the start of the night, before anything has run.

        ``start`` is used up. A night leaves its trace behind or, where it is ``signalled``, the
        signals in their place.
        """
        self.bench, self.loop, self.night = bench, bench.loop, night
        self.y, self.p, self.state = start.y, start.p, start.state
        self.last_tick = round(night.duration_s / self.loop.tick_s)
        seconds = self.last_tick // int(self.p[at.TICKS_PER_S])
        self.trace = bench.empty if signalled else bench.trace(seconds)
        self.signals = bench.signals(self.last_tick) if signalled else bench.empty
        self._noise = bench.noise(seed)
        self.died: Died | None = None
        self.log: list[Entry] = []
        self.acts: list[tuple[float, str]] = []
        self.begun_in: list[int] = []
        """Phase of the board in which each fault began."""
        self._requests: dict[str, int] = {}
        self._asleep = 0
        self._powerless = 0
        self.tick = 0
        self._settle(start.settles_s)
        self.start_phase, self.start_raised = self.state.mode.phase, self.state.raised
        self.start_latched = self.state.mode.latched
        fans = self.loop.radiator.fans if self.loop.radiator else 1
        self.faults = Injector(self.y, self.p, fans)
        self.env = simpy.Environment()
        for moment in night.moment:
            self.env.process(self._moment(moment))

    def _settle(self, settles_s: float) -> None:
        """Run before time zero until everything agrees, in a room that stays as it is."""
        if settles_s > 0.0:
            room_j_k = self.p[at.ROOM_J_K]
            self.p[at.ROOM_J_K] = 1e6 * room_j_k
            self.tick = -round(settles_s / self.loop.tick_s)
            self.advance(0)
            self.p[at.ROOM_J_K] = room_j_k
        judge_afresh(self.y)
        self.log.clear()

    def advance(self, until: int) -> None:
        """Run to the start of a tick."""
        requests = Requests(**dict.fromkeys(self._requests, True))
        while self.tick < until:
            try:
                self.tick, rows, self.state = self.bench.run(
                    self.y, self.p, self._noise, self.trace, self.signals, self.bench.log,
                    self.state, self.bench.constants, requests, self.tick, until,
                    self._asleep == 0,
                )
            except LogicDied as died:
                self._die(died)
                continue
            self.log += entries(self.bench.log, rows, self.loop.tick_s, requests.reset)

    def _die(self, died: LogicDied) -> None:
        """A logic that raised leaves a board that never decides again."""
        self.tick = round(died.time_s / self.loop.tick_s)
        self.died = Died(died.time_s, died.words)
        self.acts.append((max(died.time_s, 0.0), f"the logic stops: {died.words}"))
        disturb(self.y, self.p)
        self._fall_asleep()

    def play(self, progress: Progress | None) -> None:
        """The whole night."""
        calm = int(self.p[at.CALM_TICKS])
        mark = max(1, math.ceil(self.last_tick / MARKS / calm)) * calm
        while self.tick < self.last_tick or self._moments_left():
            at_tick = self._next_moment()
            while self.tick < at_tick:
                end = at_tick if progress is None else (self.tick // mark + 1) * mark
                self.advance(min(end, at_tick))
                if progress is not None:
                    progress(self.tick / self.last_tick)
            if self._moments_left():
                self.env.step()
        self.faults.finish()
        self._last_row()

    def _last_row(self) -> None:
        """What stands at the end of the night's last tick."""
        time_s = self.last_tick * self.loop.tick_s
        readings = read(self.y, self.p, time_s)
        if len(self.trace) > 0:
            row = self.last_tick // int(self.p[at.TICKS_PER_S])
            sample(self.y, self.p, self.trace, row, time_s, readings, self.state)
        if len(self.signals) > 0:
            row, awake = self.last_tick, self._asleep == 0
            signal(self.y, self.signals, row + 1, row, time_s, readings, self.state, awake)

    def _next_moment(self) -> int:
        due_s = self.env.peek()
        if due_s == math.inf:
            return self.last_tick
        return min(round(due_s / self.loop.tick_s), self.last_tick)

    def _moments_left(self) -> bool:
        return self.env.peek() <= self.last_tick * self.loop.tick_s

    # ---- moments ------------------------------------------------------------------------

    def _moment(self, moment: Moment) -> Process:
        yield self.env.timeout(moment.at_s)
        disturb(self.y, self.p)
        if moment.do == "fault":
            self.begun_in.append(self.state.mode.phase)
            yield from self._fault(moment)
        elif moment.do in BUTTONS:
            request, held_s, words = BUTTONS[moment.do]
            self._tell(words)
            yield from self._press(request, held_s)
        elif moment.do == "light-if-allowed" and not self._may_light():
            self._tell("the check has not passed, and the fire is not lit")
        elif moment.do in ("light", "light-if-allowed"):
            self._tell(f"the fire is lit, {self._wood(moment)}")
            light(self.y, self.p, self.loop, moment)
            yield from self._press("lit", 0.0)
        elif moment.do == "reload":
            self._tell(f"wood is put in, {self._wood(moment)}")
            reload(self.y, self.p, self.loop, moment)
        elif moment.do == "hold" and moment.heat is not None:
            watts = moment.heat.watts(self.loop)
            self.y[at.HOLD_W] = watts
            self._tell(f"the fire is held at {show(watts / 1e3, 'kw', self.loop.units)}")
        elif moment.do == "let-go":
            self.y[at.HOLD_W] = -1.0
            self._tell("the fire is let go")
        elif moment.do == "weather" and moment.outdoor_c is not None:
            self.p[at.OUTDOOR_C] = moment.outdoor_c
            self._tell(f"it is {show(moment.outdoor_c, 'c', self.loop.units)} outside")

    def _may_light(self) -> bool:
        """Whether the check holds; of a logic that doesn't tell, a person takes it for granted."""
        return not self.bench.logic.tells_phases or self.state.mode.permitted

    def _tell(self, words: str) -> None:
        self.acts.append((float(self.env.now), words))

    def _wood(self, moment: Moment) -> str:
        if moment.mass is None:
            return "no wood"
        if moment.mass.unit == "charge":
            return f"{moment.mass.amount:g} charge"
        return show(moment.mass.amount, "kg", self.loop.units)

    def _press(self, request: str, held_s: float) -> Process:
        self._requests[request] = self._requests.get(request, 0) + 1
        yield self.env.timeout(max(held_s, self.loop.tick_s))
        self._requests[request] -= 1
        if self._requests[request] == 0:
            del self._requests[request]

    def _fault(self, moment: Moment) -> Process:
        fault = FAULTS[str(moment.fault)]
        size = fault.default_size if moment.size is None else moment.size
        self._tell(f"fault: {fault.words}")
        key = self.faults.begin(fault.name, size)
        lasts_s = moment.for_s
        if lasts_s is None:
            lasts_s = size if fault.clears_s == "size" else fault.clears_s
        for act in fault.acts:
            self.env.process(self._again(act.of(size), math.inf if lasts_s is None else lasts_s))
        if lasts_s is None:
            return
        yield self.env.timeout(lasts_s)
        disturb(self.y, self.p)
        self.faults.clear(key)
        self._tell(f"over: {fault.words}")

    def _again(self, act: Act, left_s: float) -> Process:
        """An act of a fault, once or again and again while the fault lasts."""
        yield self.env.timeout(act.after_s)
        left_s -= act.after_s
        done = 0
        while left_s > 0.0:
            self.env.process(self._act(act, left_s))
            done += 1
            if act.every_s <= 0.0 or done == act.times:
                return
            yield self.env.timeout(act.every_s)
            left_s -= act.every_s

    def _act(self, act: Act, left_s: float) -> Process:
        lasts_s = left_s if act.lasts_s is None else act.lasts_s
        disturb(self.y, self.p)
        if act.do == "press":
            yield from self._press(act.request, lasts_s)
        elif act.do == "light":
            light(self.y, self.p, self.loop, self._wood_of(act))
        elif act.do == "reload":
            reload(self.y, self.p, self.loop, self._wood_of(act))
        elif act.do == "hang":
            yield from self._hang(lasts_s)
        else:
            yield from self._away(lasts_s, act.do == "lose-supply")

    def _wood_of(self, act: Act) -> Moment:
        wood = Wood(act.charges, "charge")
        return Moment(
            at_s=self.env.now, do="reload", mass=wood, moisture=act.moisture, lively=act.lively
        )

    def _hang(self, lasts_s: float) -> Process:
        """The outputs stay as they are until the watchdog restarts the board."""
        self._asleep += 1
        yield self.env.timeout(lasts_s)
        disturb(self.y, self.p)
        self._asleep -= 1
        yield from self._away(REBOOT_S, False)

    def _away(self, lasts_s: float, powerless: bool) -> Process:
        """The board is away, with or without its supply; without end it stays so."""
        if powerless:
            self._lose_power()
        else:
            self._fall_asleep()
        if lasts_s == math.inf:
            return
        yield self.env.timeout(lasts_s)
        disturb(self.y, self.p)
        if powerless:
            self._power_back(lasts_s)
        else:
            self._wake(lasts_s)

    def _lose_power(self) -> None:
        self._powerless += 1
        supply_away(self.y, self.p)
        self._asleep += 1

    def _power_back(self, outage_s: float) -> None:
        self._powerless -= 1
        if self._powerless == 0:
            self.y[at.SUPPLY_V] = self.p[at.SUPPLY_OPEN_V]
        self._wake(outage_s)

    def _fall_asleep(self) -> None:
        self._asleep += 1
        board_away(self.y, self.p)

    def _wake(self, outage_s: float) -> None:
        self._asleep -= 1
        if self._asleep == 0:
            self.y[at.OUTAGE_S] = outage_s
            self.state = self.bench.logic.rebooted(self.state)
            note(self.bench.log, 0, self.tick, self.state)
            self.log += entries(self.bench.log, 1, self.loop.tick_s, False)


def rehearse(
    loop: Loop,
    night: Night,
    *,
    seed: int = 1,
    engine: Engine = "auto",
    today: date,
    logic: Logic | None = None,
    progress: Progress | None = None,
) -> Run:
    """One night of one loop in closed loop.

    The same loop, night, seed and day give the same run, bit for bit, in either engine.
    ``logic`` takes the place of ours, in the interpreter; one that raises leaves a dead board
    and is told in `Run.died`.
    ``progress`` is called about fifty times with a share from 0 to 1.
    Raises RuntimeError when the compiled engine is demanded and numba is missing, InputRefused
    for a logic of a person's own whose answer no board could act on.
    """
    bench = Bench(loop, today, engine, logic)
    return rehearsed(bench, night, bench.start(night), seed=seed, progress=progress)


def rehearsed(
    bench: Bench, night: Night, start: Start, *, seed: int, progress: Progress | None = None,
    limits_from_s: float = 0.0,
) -> Run:  # fmt: skip
    """One night on a bench that is there already, from a start of its own, with its trace.

    The valve's time at its limits is counted from ``limits_from_s`` on.
    """
    rehearsal = Rehearsal(bench, night, start, seed)
    stored_at_start_j = stored_j(rehearsal.y, rehearsal.p)
    began_s = time.perf_counter()
    rehearsal.play(progress)
    lasted_s = time.perf_counter() - began_s
    y, p, constants = rehearsal.y, rehearsal.p, bench.constants
    trace = columns(rehearsal.trace)
    trace["flow_min_lpm"] = minimum_lpm(trace, constants)
    limits_s = at_limits_s(trace, constants, limits_from_s)
    for name in INTERNAL:
        del trace[name]
    boiled_s = float(y[at.BOILED_S])
    boil_s = float(y[at.LEAST_BOIL_S])
    return Run(
        loop=bench.loop,
        night=night,
        seed=seed,
        engine=bench.engine,
        derived=bench.derived,
        constants=constants,
        duration_s=night.duration_s,
        x_real_time=night.duration_s / max(lasted_s, 1e-9),
        trace=trace,
        phases=phases_of(rehearsal.start_phase, rehearsal.log),
        causes=causes_of(rehearsal.log),
        acts=rehearsal.acts,
        peaks=Peaks(
            float(y[at.PEAK_OUTLET]), float(y[at.PEAK_WALL]), float(y[at.PEAK_TANK])
        ),
        margins=Margins(float(y[at.LEAST_BOIL_K]), math.inf if boil_s >= NEVER_S else boil_s),
        first_boil_s=None if boiled_s < 0.0 else boiled_s,
        pump_off_with_fire_s=float(y[at.PUMP_OFF_FIRE_S]),
        final=Final(float(y[at.STUB]), float(y[at.TANK_TOP]), float(y[at.ROOM_AIR])),
        energy_closure=audit(y, p, stored_at_start_j).closure,
        faults_fired=rehearsal.faults.fired,
        valve_limit_s=limits_s,
        logic="" if bench.logic is OURS else bench.logic.name,
        died=rehearsal.died,
    )
