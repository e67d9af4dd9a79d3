"""The side that decides: greets a plant, waits until a tick is whole, decides it once, answers.

A computer that drives a plain board runs this, and so does a board that carries the logic. A
tick that comes again is answered again with the same words, and never decided twice.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from typing import Any, NamedTuple

from coilward.controller.constants import Constants
from coilward.controller.decide import Decision, decide
from coilward.controller.state import State, after_reboot
from coilward.controller.types import Commands, Readings, Requests
from coilward.hil.converting import Converter
from coilward.hil.dead_man import DeadMan, safe
from coilward.hil.frames import Frame, Values, number
from coilward.hil.link import Link
from coilward.hil.messages import MEMORY, RAW, TABLE, TICK_PARTS
from coilward.hil.tick import FIELDS, Tick, digest, unflat

PART_OF = {part.name: place for place, part in enumerate(TICK_PARTS)}
ALL_PARTS = (1 << len(TICK_PARTS)) - 1
LAST_PART = TICK_PARTS[-1].name
MEMORY_NAMES = tuple(part.name for part in MEMORY)
Decide = Callable[[Readings, Requests, State, Constants], Decision]


class Being(NamedTuple):
    """What a side says of itself in its greeting."""

    constants: int
    """Checksum of the constants that it runs on; 0 for a board without logic."""
    tick_s: float
    program: str
    outlet_most_c: float = math.nan
    tank_most_c: float = math.nan
    """What a board without logic shall trip at by itself; not known where it is not told."""


def greeting(side: str, opened: int, being: Being) -> Values:
    """The values of a hello."""
    return {
        "table": TABLE, "side": side, "opened": opened, "constants": being.constants,
        "tick_s": being.tick_s, "program": being.program, "outlet_most_c": being.outlet_most_c,
        "tank_most_c": being.tank_most_c,
    }  # fmt: skip


def refusal(frame: Frame, side: str, tick_s: float) -> str:
    """Why a greeting is refused by a side; empty where it is not."""
    if frame.values["table"] != TABLE:
        return "other-table"
    if frame.values["side"] == side:
        return "same-side"
    return "" if frame.values["tick_s"] == tick_s else "other-tick"


class LogicSide:
    """Decides what arrives on a link."""

    def __init__(
        self, link: Link, convert: Converter, constants: Constants, state: State, *,
        program: str, bench: bool, decides: Decide = decide, told: Callable[[Tick], None] | None,
        asks: Callable[[], Requests] | None = None,
    ) -> None:  # fmt: skip
        """``bench`` lets the plant set the state and restart the logic; ``told`` gets each tick.

        ``asks`` gives what is asked for on this side, beside the plant's buttons.
        """
        self.link, self.convert, self.constants, self.state = link, convert, constants, state
        limits = constants.limits
        self.being = Being(
            constants.checksum, constants.tick_s, program, limits.outlet_hh_c, limits.tank_hh_c
        )
        self.bench, self.decides, self._told, self._asks = bench, decides, told, asks
        self.greeted: Values | None = None
        """What the plant said of itself; None before it did."""
        self.refused = ""
        self.away: Callable[[Readings], float] | None = None
        """Tells at the first tick how long this side was away: the plant's own word counts else."""
        self.horn_least = 0
        """The horn sounds at least so: a test of it."""
        self.clock = time.monotonic
        self.dead_man = DeadMan()
        self.outputs = NOTHING
        """What the outputs are told now."""
        self.tick: int | None = None
        """The last tick that was decided."""
        self._parts: dict[int, dict[str, Values]] = {}
        self._answer: tuple[Values, Values] | None = None
        self._memory: dict[str, Values] = {}
        self._restarts = 0
        self._earliest_s: float | None = None

    def serve(self) -> int:
        """Handle what has arrived, waiting a moment at most; gives the number of frames.

        Raises LinkLost.
        """
        frames = self.link.receive()
        for frame in frames:
            self.handle(frame)
        if self.bench and self.tick is not None and self.dead_man.acts(self.clock()):
            self._fall_silent(self.tick)
        return len(frames)

    def leave(self) -> None:
        """Tell the plant that nobody decides from here on. Raises LinkLost."""
        if self.greeted is not None:
            self.link.send(self.tick or 0, ("bye", {}))

    def handle(self, frame: Frame) -> None:
        """One line of the plant; what belongs to another session is passed over."""
        if frame.name == "hello":
            self._greet(frame)
        elif self.greeted is None or frame.session != self.link.session:
            return
        else:
            self._heard(frame)

    def _heard(self, frame: Frame) -> None:
        self.dead_man.heard(self.clock())
        if frame.name in PART_OF:
            self._part(frame)
        elif frame.name in MEMORY_NAMES:
            self._remember(frame)
        elif frame.name == "restart":
            self._restart(frame)

    def _greet(self, frame: Frame) -> None:
        self.refused = refusal(frame, "logic", self.being.tick_s)
        self.link.session = 0
        if self.refused:
            self.greeted = None
            self.link.send(0, ("refuse", {"reason": self.refused}))
            return
        opened = int(number(frame.values, "opened"))
        self.link.send(0, ("hello", greeting("logic", opened, self.being)))
        self.link.session = opened
        if self.greeted is None or self.greeted["opened"] != opened:
            self._parts.clear()
            self.dead_man.begin()
            self.tick, self._answer, self._earliest_s, self._restarts = None, None, None, 0
        self.greeted = frame.values

    def _part(self, frame: Frame) -> None:
        if self.tick is not None and frame.tick <= self.tick:
            if frame.tick == self.tick and frame.name == LAST_PART:
                self._say()
            return
        parts = self._parts.setdefault(frame.tick, {})
        parts[frame.name] = frame.values
        if len(parts) == len(TICK_PARTS):
            self._decide(frame.tick, {k: v for part in parts.values() for k, v in part.items()})
        elif frame.name == LAST_PART:
            there = sum(1 << PART_OF[name] for name in parts)
            self.link.send(frame.tick, ("again", {"parts": ALL_PARTS & ~there}))

    def _decide(self, tick: int, values: Values) -> None:
        self._parts = {late: parts for late, parts in self._parts.items() if late > tick}
        readings = self.convert.readings(values)
        if self.away is not None:
            readings = readings._replace(outage_s=self.away(readings))
            self.away = None
        requests = self._requests(values)
        decision = self.decides(readings, requests, self.state, self.constants)
        self.state, self.tick, self.outputs = decision.state, tick, decision.commands
        commands = told_commands(decision.commands)
        commands["horn"] = max(decision.commands.horn, self.horn_least)
        self._answer = commands, {**told_state(*decision), "silent": self.dead_man.count}
        self._say()
        if self._told is not None:
            raw = tuple(number(values, name) for name in RAW)
            self._told(
                Tick(tick, time.time(), self._late_s(tick), raw, readings, requests,
                     decision.commands, decision.state)
            )  # fmt: skip

    def _requests(self, values: Values) -> Requests:
        here = self._asks() if self._asks else Requests()
        return Requests(
            *(values.get(name, 0) == 1 or getattr(here, name) for name in Requests._fields)
        )

    def _late_s(self, tick: int) -> float:
        """Seconds after the earliest moment at which this tick could have come, by all so far."""
        offset_s = self.clock() - tick * self.constants.tick_s
        if self._earliest_s is None or offset_s < self._earliest_s:
            self._earliest_s = offset_s
        return offset_s - self._earliest_s

    def _say(self) -> None:
        if self._answer is not None and self.tick is not None:
            commands, decided = self._answer
            self.link.send(self.tick, ("commands", commands), ("decided", decided))

    def _fall_silent(self, tick: int) -> None:
        self.outputs = safe(self.outputs)
        told: Values = {"count": self.dead_man.count, **told_commands(self.outputs)}
        self.link.send(tick, ("silent", told))

    def _remember(self, frame: Frame) -> None:
        if not self.bench:
            self.link.send(frame.tick, ("refuse", {"reason": "no-bench"}))
            return
        if self.tick is not None:
            return
        self._memory[frame.name] = frame.values
        if len(self._memory) == len(MEMORY_NAMES):
            values = {k: v for part in self._memory.values() for k, v in part.items()}
            self._memory.clear()
            self.state = remembered(values)
            self._acknowledge(frame.tick)

    def _restart(self, frame: Frame) -> None:
        if not self.bench:
            self.link.send(frame.tick, ("refuse", {"reason": "no-bench"}))
            return
        if int(number(frame.values, "count")) > self._restarts:
            self._restarts += 1
            self.state = after_reboot(self.state)
        self._acknowledge(frame.tick)

    def _acknowledge(self, tick: int) -> None:
        done: Values = {"count": self._restarts, "digest": digest(self.state, NOTHING)}
        self.link.send(tick, ("done", done))


NOTHING = Commands(False, 0.0, 0.0, False, False, 0, False)
"""Stands for the commands where only a state is told."""


def told_commands(commands: Commands) -> Values:
    """Commands as a line has them."""
    told: dict[str, Any] = commands._asdict()
    return {name: int(value) if isinstance(value, bool) else value for name, value in told.items()}


def told_state(state: State, commands: Commands) -> Values:
    """What a line tells of a state."""
    mode = state.mode
    return {
        "phase": mode.phase, "fire": mode.fire, "coil": mode.coil, "raised": state.raised,
        "latched": mode.latched, "first_out": mode.first_out, "digest": digest(state, commands),
    }  # fmt: skip


def remembered(values: Values) -> State:
    """The state that the lines of a memory tell."""
    floats = [number(values, name) for name, kind in FIELDS if kind is float]
    wholes = [int(values[name]) for name, kind in FIELDS if kind is not float]
    return unflat(floats, wholes)


def commands_of(values: Values) -> Commands | None:
    """The commands of a line; None where one is out of its range."""
    valve, fans, horn = (number(values, name) for name in ("valve", "fans", "horn"))
    if not (0.0 <= valve <= 1.0 and 0.0 <= fans <= 1.0 and 0 <= horn <= 3):
        return None
    flags = {name: values[name] == 1 for name in ("pump", "damper_open", "dump_open", "may_light")}
    return Commands(valve=valve, fans=fans, horn=int(horn), **flags)


