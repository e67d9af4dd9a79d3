"""Driving a real loop: our logic at one end of a wire, a board without logic at the other."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field

from coilward import __version__
from coilward.controller.constants import Constants
from coilward.controller.state import NO, State, after_reboot
from coilward.controller.types import Readings, Requests
from coilward.hil.converting import converter
from coilward.hil.dead_man import CONTINUOUS
from coilward.hil.link import Line, Link, LinkLost, Port, SerialPort
from coilward.hil.logic_side import LogicSide
from coilward.hil.tick import Tick
from coilward.loop.errors import InputRefused
from coilward.loop.model import Loop

REOPEN_S = 0.5
LATE_TICKS = 2.0
"""A tick that comes later than this many ticks is counted as late."""
HORN_TEST_S = 1.0

OpenPort = Callable[[], Port]
Told = Callable[[Tick, list[Line]], None]


@dataclass
class Health:
    """How well the wire and the clock have served so far."""

    ticks: int = 0
    late: int = 0
    latest_s: float = 0.0
    missed: int = 0
    """Ticks of the board that never arrived whole."""
    lost: int = 0
    """Times that the port was lost."""
    bad_lines: int = 0
    connected: bool = True
    last_s: float = field(default_factory=time.monotonic)
    """Monotonic time of the last tick."""


class Driver:
    """Decides for a board for as long as it is asked to, through losses of the port."""

    def __init__(
        self, loop: Loop, constants: Constants, state: State, open_port: OpenPort, told: Told
    ) -> None:
        """``told`` gets each tick with the lines that went over the wire since the one before.

        Raises InputRefused where the port can't be opened now.
        """
        self.constants, self._open, self._told = constants, open_port, told
        self.health = Health()
        self.link = Link(open_port())
        self.side = LogicSide(
            self.link, converter(loop), constants, state, program=f"coilward-{__version__}",
            bench=False, told=self._tick, asks=self._asked,
        )  # fmt: skip
        self._requests = Requests()
        self._boards_number: int | None = None
        self._number = -1
        self._reopen_s = 0.0
        self._tested_until_s = 0.0

    def resume(self, last: State, last_wall_s: float) -> None:
        """Go on from what was remembered when this side went away."""
        self.side.state = after_reboot(last)
        self.side.away = lambda readings: away_s(readings, last, time.time() - last_wall_s)

    def ask(self, act: str) -> None:
        """Silence the horn, tell the last load, or test the horn; anything else is not known here.

        Raises ValueError for anything else.
        """
        if act == "horn":
            self._tested_until_s = time.monotonic() + HORN_TEST_S
        elif act == "silence":
            self._requests = self._requests._replace(silence=True)
        elif act == "finish":
            self._requests = self._requests._replace(finish=True)
        else:
            raise ValueError(act)

    def serve(self) -> None:
        """Hear, decide and answer for a moment; a lost port is opened again and again."""
        self.side.horn_least = CONTINUOUS if time.monotonic() < self._tested_until_s else 0
        if not self.health.connected and time.monotonic() < self._reopen_s:
            time.sleep(0.02)
            return
        try:
            if not self.health.connected:
                self.link.reopen(self._open())
                self.health.connected = True
            self.side.serve()
        except (LinkLost, InputRefused):
            self.health.lost += self.health.connected
            self.health.connected = False
            self._reopen_s = time.monotonic() + REOPEN_S
        self.health.bad_lines = self.link.decoder.bad

    def leave(self) -> bool:
        """Take leave of the board, where there is no fire; whether that was so."""
        cold = self.side.state.mode.fire == NO
        with suppress(LinkLost):
            if cold:
                self.side.leave()
        self.link.port.close()
        return cold

    @property
    def silent_s(self) -> float:
        """Seconds since the last tick."""
        return time.monotonic() - self.health.last_s

    def _asked(self) -> Requests:
        asked, self._requests = self._requests, Requests()
        return asked

    def _tick(self, tick: Tick) -> None:
        health, before = self.health, self._boards_number
        health.ticks += 1
        health.last_s = time.monotonic()
        step = tick.number - before if before is not None and tick.number > before else 1
        health.missed += step - 1
        self._boards_number, self._number = tick.number, self._number + step
        if tick.late_s > LATE_TICKS * self.constants.tick_s:
            health.late += 1
        health.latest_s = max(health.latest_s, tick.late_s)
        lines = list(self.link.lines)
        self.link.lines.clear()
        self._told(tick._replace(number=self._number), lines)


def away_s(readings: Readings, last: State, wall_s: float) -> float:
    """How long nobody decided: by the board's clock and by ours, whichever says longer.

    NaN, not known, where the board's clock began anew, because then it was away as well.
    """
    by_board_s = readings.time_s - last.ages.time_s
    return max(by_board_s, wall_s) if by_board_s >= 0.0 else math.nan


def serial_opener(url: str) -> OpenPort:
    """Opens this address again and again."""
    return lambda: SerialPort(url)
