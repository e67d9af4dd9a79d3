"""Driving a real loop: our logic at one end of a wire, a board without logic at the other."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

from coilward import __version__
from coilward.controller.constants import Constants
from coilward.controller.state import State
from coilward.hil.converting import converter
from coilward.hil.link import Link, LinkLost, Port, SerialPort
from coilward.hil.logic_side import LogicSide
from coilward.hil.tick import Tick
from coilward.loop.errors import InputRefused
from coilward.loop.model import Loop

REOPEN_S = 0.5
LATE_TICKS = 2.0
"""A tick that comes later than this many ticks is counted as late."""

OpenPort = Callable[[], Port]


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
    connected: bool = False
    last_s: float = field(default_factory=time.monotonic)
    """Monotonic time of the last tick."""


class Driver:
    """Decides for a board for as long as it is asked to, through losses of the port."""

    def __init__(
        self, loop: Loop, constants: Constants, state: State, open_port: OpenPort,
        told: Callable[[Tick], None],
    ) -> None:  # fmt: skip
        """``state`` is a new board's, or what was kept of the last run."""
        self.constants, self._open, self._told = constants, open_port, told
        self.health = Health()
        self.link = Link(open_port())
        self.side = LogicSide(
            self.link, converter(loop), constants, state, program=f"coilward-{__version__}",
            bench=False, told=self._tick,
        )  # fmt: skip
        self._number: int | None = None
        self._reopen_s = 0.0

    def serve(self) -> None:
        """Hear, decide and answer for a moment; a lost port is opened again and again."""
        if not self.health.connected and time.monotonic() < self._reopen_s:
            time.sleep(0.02)
            return
        try:
            if not self.health.connected and self.health.lost:
                self.link.reopen(self._open())
            self.health.connected = True
            self.side.serve()
        except (LinkLost, InputRefused):
            self.health.lost += self.health.connected
            self.health.connected = False
            self._reopen_s = time.monotonic() + REOPEN_S
        self.health.bad_lines = self.link.decoder.bad

    def _tick(self, tick: Tick) -> None:
        health = self.health
        health.ticks += 1
        health.last_s = time.monotonic()
        if self._number is not None and tick.number > self._number + 1:
            health.missed += tick.number - self._number - 1
        self._number = tick.number
        if tick.late_s > LATE_TICKS * self.constants.tick_s:
            health.late += 1
        health.latest_s = max(health.latest_s, tick.late_s)
        self._told(tick)

    @property
    def silent_s(self) -> float:
        """Seconds since the last tick."""
        return time.monotonic() - self.health.last_s


def serial_opener(url: str) -> OpenPort:
    """Opens this address again and again."""
    return lambda: SerialPort(url)
