"""One loop made ready for many nights: what takes time to build is built once."""

from __future__ import annotations

import math
from datetime import date
from typing import Any, NamedTuple

from coilward.controller.constants import Constants
from coilward.controller.decide import decide
from coilward.controller.phases import RUN, STANDBY
from coilward.controller.state import NO, YES, State
from coilward.loop.derived import Derived, derive
from coilward.loop.model import Loop
from coilward.simulator import slots as at
from coilward.simulator.closed import LOG_COLUMNS, SIGNAL_COUNT, TRACE_COLUMNS
from coilward.simulator.engine import Engine, chosen, floats, runner, with_decide
from coilward.simulator.logic import Logic
from coilward.simulator.night import Night
from coilward.simulator.parameters import noise_table, parameters, resting, running

Floats = list[float]

SETTLING_S = 2400.0
LOG_ROOM = 512
OURS = Logic(name="coilward", digest="", decide=decide)


class Start(NamedTuple):
    """The plant and the board before time zero."""

    y: Any
    p: Any
    state: State
    settles_s: float
    """How long everything runs before time zero, with the room held at its temperature."""


class Bench:
    """Limits, parameters, engine and buffers of one loop."""

    def __init__(
        self, loop: Loop, today: date, engine: Engine = "auto", logic: Logic | None = None
    ) -> None:
        """Another logic than ours runs in the interpreter.

        Raises RuntimeError when the compiled engine is demanded and numba is missing.
        """
        self.loop = loop
        self.logic = OURS if logic is None else logic
        self.derived: Derived = derive(loop, today)
        self.constants: Constants = self.logic.constants(loop, self.derived)
        self.engine = chosen(engine if logic is None else "interpreted")
        self.run = runner(self.engine) if logic is None else with_decide(logic.decide)
        self.log = floats(self.engine, [0.0] * (LOG_COLUMNS * LOG_ROOM))
        self.empty = floats(self.engine, [])
        self._sound = parameters(loop, self.derived, loop.site.outdoor_c)
        self._noise: dict[int, Any] = {}
        self._signals = self.empty

    def sound(self, outdoor_c: float) -> Floats:
        """Parameters of the sound plant with this air outside; the caller's to change."""
        p = self._sound.copy()
        p[at.OUTDOOR_C] = outdoor_c
        return p

    def start(self, night: Night) -> Start:
        """As the night says: fire out and standby, or settled at the nominal heat."""
        site_c = self.loop.site.outdoor_c
        p = self.sound(site_c if night.outdoor_c is None else night.outdoor_c)
        if night.start == "running":
            y = running(self.loop, self.derived, p)
            state, settles_s = self.logic.first(self.constants, RUN, YES), SETTLING_S
        else:
            y = resting(self.loop, p)
            state, settles_s = self.logic.first(self.constants, STANDBY, NO), 0.0
        return Start(floats(self.engine, y), floats(self.engine, p), state, settles_s)

    def noise(self, seed: int) -> Any:
        """The noise table of a seed, kept."""
        if seed not in self._noise:
            self._noise[seed] = floats(self.engine, noise_table(seed))
        return self._noise[seed]

    def trace(self, seconds: int) -> Any:
        """A new buffer for one row a second."""
        return floats(self.engine, [math.nan] * (TRACE_COLUMNS * (seconds + 1)))

    def signals(self, ticks: int) -> Any:
        """A buffer for one value of every signal a tick: the same one every time."""
        wanted = SIGNAL_COUNT * (ticks + 1)
        if len(self._signals) < wanted:
            self._signals = floats(self.engine, [0.0] * wanted)
        return self._signals[:wanted]
