"""A pretended board without logic, with a pretended loop behind its pins.

    python -m coilward.hil.plain_board greenhouse --on pty --night pump-dies --today 2026-11-27

It prints the address to open, and then plays the night: against the clock, so many times faster,
or in lockstep with whoever decides. It knows the one who decides by lines alone.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from contextlib import suppress
from datetime import date
from typing import NamedTuple

from coilward import __version__
from coilward.controller.constants import Constants
from coilward.controller.decide import Decision, decide
from coilward.controller.state import Mode, State, fresh_watch
from coilward.controller.types import Commands, Readings, Requests
from coilward.hil.child import end_with_starter
from coilward.hil.converting import THERMOMETERS, converter, ohm_name
from coilward.hil.dead_man import SILENT_S, OwnTrips, safe
from coilward.hil.ends import end_of
from coilward.hil.frames import Values, number
from coilward.hil.link import Link, LinkLost
from coilward.hil.logic_side import Being
from coilward.hil.plant_side import Answer, PlantSide, Refused
from coilward.loop.document import read_loop
from coilward.loop.model import Loop
from coilward.measuring.thermometer import TYPICAL, ntc_ohm
from coilward.simulator import slots as at
from coilward.simulator.bench import Bench
from coilward.simulator.logic import Logic
from coilward.simulator.night import Night, read_night
from coilward.simulator.rehearsal import Rehearsal

GREETS_EVERY_S = 1.0
ANSWER_SHARE = 0.8
"""Of a tick: the rest is for moving the plant on."""


class Pace(NamedTuple):
    """How time passes."""

    lockstep: bool
    """A tick waits for its answer, up to the dead-man's time."""
    times: float
    """So many times faster than the clock; only without lockstep."""


class PlainBoard:
    """Sends what it sees, does what it is told, and looks after itself when nobody tells."""

    def __init__(self, side: PlantSide, loop: Loop, pace: Pace) -> None:
        """The night begins when the other end has greeted."""
        self.side, self.pace, self.loop = side, pace, loop
        self.convert = converter(loop)
        self.trips = OwnTrips()
        self.rehearsal: Rehearsal | None = None
        self.tick = 0
        self.alone_s = 0.0
        """Plant time since an answer was heard."""
        self.answer: Answer | None = None
        self._own_ohm = [
            reading for name, reading in THERMOMETERS.items()
            if (fitted := getattr(loop.sensors, name)) and fitted.kind == "ntc" and not fitted.ntc
        ]  # fmt: skip
        self._began_s: float | None = None
        self._greets_at_s = 0.0

    def logic(self) -> Logic:
        """Stands in a night's closed loop for whoever decides at the other end."""
        return Logic(name="at the other end", digest="", decide=self.decide)

    def decide(
        self, readings: Readings, requests: Requests, state: State, constants: Constants
    ) -> Decision:
        """One tick: send, wait as the pace says, and do what was told or what is safe.

        Before the night's first tick the loop settles, under our own logic.
        """
        if readings.time_s < 0.0:
            return decide(readings, requests, state, constants)
        if self.tick == 0:
            self._wait_for_the_other_end()
        self.tick += 1
        answer = self._ask(readings, requests, constants.tick_s)
        if answer is not None:
            self.answer, self.alone_s = answer, 0.0
        hot = self.trips.hot(readings)
        commands = self.answer.commands if self.answer is not None else _as_found(readings)
        if hot or (self.alone_s >= SILENT_S and not self.side.left):
            commands = safe(commands)
        return Decision(as_told(state, self.answer, commands), commands)

    def _wait_for_the_other_end(self) -> None:
        self.side.open()
        while self.side.logic is None:
            with suppress(Refused):
                self.side.attend()
        self.alone_s = 0.0

    def _ask(self, readings: Readings, requests: Requests, tick_s: float) -> Answer | None:
        wall_s = tick_s / self.pace.times
        try:
            if not self.pace.lockstep:
                self._wait_until_due(wall_s)
            self._greet_again()
            self.side.begin(self.tick, self._raw(readings), requests)
            alone = self.alone_s >= SILENT_S
            within_s = SILENT_S if self.pace.lockstep and not alone else ANSWER_SHARE * wall_s
            answer = self.side.answer(within_s)
        except (LinkLost, Refused):
            answer, within_s = None, wall_s
            time.sleep(wall_s)
        if answer is None:
            self.alone_s += within_s if self.pace.lockstep else tick_s
        elif self.side.logic is not None:
            self._take_limits(self.side.logic)
        return answer

    def _greet_again(self) -> None:
        """Ask for a new session now and then, while nobody answers or somebody took leave."""
        alone = self.alone_s >= SILENT_S or self.side.left
        if alone and time.monotonic() >= self._greets_at_s:
            self._greets_at_s = time.monotonic() + GREETS_EVERY_S
            self.side.open()

    def _take_limits(self, logic: Values) -> None:
        told = OwnTrips(number(logic, "outlet_most_c"), number(logic, "tank_most_c"))
        if told.limits_c != self.trips.limits_c:
            self.trips = told

    def _wait_until_due(self, wall_s: float) -> None:
        now_s = time.monotonic()
        if self._began_s is None:
            self._began_s = now_s - self.tick * wall_s
        due_s = self._began_s + self.tick * wall_s
        while time.monotonic() < due_s:
            if self.side.logic is None:
                self.side.attend()
            else:
                time.sleep(max(0.0, due_s - time.monotonic()))

    def _raw(self, readings: Readings) -> Values:
        pulses = int(self.rehearsal.y[at.PULSES]) if self.rehearsal else 0
        raw = self.convert.raw(readings, pulses)
        for name in self._own_ohm:
            value_c = getattr(readings, name)
            if value_c == value_c:
                raw[ohm_name(name)] = ntc_ohm(TYPICAL, value_c)
        return raw


def _as_found(readings: Readings) -> Commands:
    """The outputs of a board that nobody has told anything: the pump as its contact stands."""
    pump = readings.pump_contact == 1.0
    return Commands(pump, 1.0, 0.0, False, False, 0, False)


def as_told(state: State, answer: Answer | None, commands: Commands) -> State:
    """What is known here of the other side's state."""
    if answer is None:
        return state
    told = answer.told
    mode = Mode(
        phase=told.phase, came_from=told.phase, fire=told.fire, coil=told.coil, dry=False,
        latched=told.latched, first_out=told.first_out, permitted=commands.may_light,
        meter_dead=False,
    )  # fmt: skip
    return State(
        mode, state.ages, fresh_watch(), state.doubt, state.control, state.counters, told.raised,
        state.seen,
    )  # fmt: skip


def main(arguments: list[str]) -> None:
    """Play the night once somebody has greeted."""
    parser = argparse.ArgumentParser(prog="plain_board", description="A pretended plain board.")
    parser.add_argument("loop")
    parser.add_argument("--on", default="pty", help="pty, tcp or tcp:PORT")
    parser.add_argument("--night", default="quiet")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--today", type=date.fromisoformat, required=True)
    parser.add_argument("--lockstep", action="store_true")
    parser.add_argument("--times", type=float, default=1.0)
    parser.add_argument("--child", action="store_true", help="end as standard input ends")
    asked = parser.parse_args(arguments)
    if asked.child:
        end_with_starter(lambda: os._exit(0))
    loop = read_loop(asked.loop)
    end = end_of(asked.on)
    being = Being(0, loop.tick_s, f"coilward-plain-board-{__version__}")
    board = PlainBoard(PlantSide(Link(end), being), loop, Pace(asked.lockstep, asked.times))
    bench = Bench(loop, asked.today, "interpreted", board.logic())
    rehearsal = settled(board, bench, read_night(asked.night), asked.seed)
    sys.stdout.write(f"{end.url}\n")
    sys.stdout.flush()
    rehearsal.play(None)


def settled(board: PlainBoard, bench: Bench, night: Night, seed: int) -> Rehearsal:
    """A night behind the board's pins, at its first tick."""
    board.rehearsal = Rehearsal(bench, night, bench.start(night), seed)
    return board.rehearsal


if __name__ == "__main__":
    main(sys.argv[1:])
