"""A board held by hand, for measuring: cold, without a fire; outputs as asked, readings as sent.

The logic's rules for a fire are not at work here. So it holds the board only while nothing at the
coil is warm, and lets it go to its own safe outputs at the first reading that is.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from contextlib import suppress

from coilward.controller.constants import Constants
from coilward.controller.decide import Decision
from coilward.controller.phases import MAINTENANCE
from coilward.controller.state import State, first_state
from coilward.controller.types import Commands, Readings, Requests
from coilward.hil.converting import Converter
from coilward.hil.driving import OpenPort
from coilward.hil.frames import number
from coilward.hil.link import Link, LinkLost
from coilward.hil.logic_side import LogicSide
from coilward.hil.messages import RAW
from coilward.hil.tick import Tick

WARM_C = 50.0
AT_THE_COIL = ("coil_outlet_a_c", "coil_outlet_b_c", "coil_metal_c", "flue_c")
KEPT_S = 60.0
LEAST_TICKS = 3
FRESH_S = 3.0
"""Older than this, and the board is no longer there."""
REST = Commands(False, 1.0, 0.0, False, False, 0, False)
"""As it is left: pump off, valve open, damper shut, dump shut, horn off."""


class Warm(Exception):  # noqa: N818 - what happened, not an error of the program
    """Something at the coil is warm: what."""


class HandHeld:
    """A plain board whose outputs a person sets; served by a thread of its own."""

    def __init__(
        self, open_port: OpenPort, convert: Converter, constants: Constants, *, beside: str = "",
    ) -> None:  # fmt: skip
        """``beside`` is a thermometer that hangs in a bath, and tells nothing of the coil.

        Raises InputRefused where the port can't be opened.
        """
        self.constants = constants
        self.warm = ""
        """Which reading at the coil was warm; empty while none was."""
        self.lost = ""
        """Why the port is gone; empty while it is there."""
        self._wanted = REST
        self._watched = tuple(name for name in AT_THE_COIL if name != beside)
        self._ticks: deque[Tick] = deque(maxlen=int(KEPT_S / constants.tick_s))
        self._lock = threading.Lock()
        self._done = threading.Event()
        self._side = LogicSide(
            Link(open_port()), convert, constants, first_state(constants, MAINTENANCE),
            program="coilward-by-hand", bench=False, decides=self._decide, told=self._tick,
        )  # fmt: skip
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def set(self, *, pump: bool, valve: float = 1.0) -> None:
        """Pump and valve (stroke, 0 shut to 1 open) from the next tick on."""
        self._wanted = REST._replace(pump=pump, valve=valve)

    def now(self) -> Tick:
        """The newest tick. Raises LinkLost where there is none, Warm."""
        if self.warm:
            raise Warm(self.warm)
        with self._lock:
            tick = self._ticks[-1] if self._ticks else None
        if self.lost or tick is None or time.time() - tick.wall_s > FRESH_S:
            raise LinkLost(self.lost or self._side.refused or "the board sends nothing")
        return tick

    def wait(self, within_s: float) -> Tick:
        """The first tick there is. Raises LinkLost, Warm."""
        until_s = time.monotonic() + within_s
        while time.monotonic() < until_s:
            with suppress(LinkLost):
                return self.now()
            time.sleep(0.05)
        return self.now()

    def over(self, seconds: float, name: str) -> list[float]:
        """What was read, or sent, under a name in the seconds from now on; without the unknown.

        It takes longer where the board is slow to send `LEAST_TICKS`. Raises LinkLost, Warm.
        """
        first = self.now().number
        until_s = time.monotonic() + seconds
        ticks: list[Tick] = []
        while time.monotonic() < until_s or len(ticks) < LEAST_TICKS:
            time.sleep(0.05)
            self.now()
            with self._lock:
                ticks = [tick for tick in self._ticks if tick.number > first]
        values = [value_of(tick, name) for tick in ticks]
        return [value for value in values if value == value]

    def close(self) -> None:
        """Leave the board at rest, and let go of the port."""
        self._wanted = REST
        time.sleep(2.0 * self.constants.tick_s)
        self._done.set()
        self._thread.join(timeout=2.0)
        with suppress(LinkLost):
            if not self.warm:
                self._side.leave()
        self._side.link.port.close()

    def _decide(
        self, readings: Readings, requests: Requests, state: State, constants: Constants
    ) -> Decision:
        del requests, constants
        for name in self._watched:
            if getattr(readings, name) >= WARM_C:
                self.warm = f"{name} is {getattr(readings, name):.0f} degC"
        return Decision(state, self._wanted)

    def _tick(self, tick: Tick) -> None:
        with self._lock:
            self._ticks.append(tick)

    def _serve(self) -> None:
        try:
            while not self._done.is_set() and not self.warm:
                self._side.serve()
        except LinkLost as lost:
            self.lost = str(lost)


def value_of(tick: Tick, name: str) -> float:
    """A reading of a tick, or a value as it was sent."""
    if name in Readings._fields:
        return float(getattr(tick.readings, name))
    return number(dict(zip(RAW, tick.raw, strict=True)), name)


