"""Plants to look at without a board: steps in the interpreter, outputs set by hand."""

from __future__ import annotations

from datetime import date

from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator import slots as at
from coilward.simulator.parameters import parameters, resting, running
from coilward.simulator.step import step

TODAY = date(2026, 11, 25)
LOOPS = ("boathouse", "greenhouse", "hot-tub")


class Plant:
    """State, parameters, and a clock."""

    def __init__(self, loop, *, hot=True, outdoor_c=None):
        self.loop = read_loop(loop) if isinstance(loop, str) else loop
        self.derived = derive(self.loop, TODAY)
        outdoor_c = self.loop.site.outdoor_c if outdoor_c is None else outdoor_c
        self.p = parameters(self.loop, self.derived, outdoor_c)
        start = running(self.loop, self.derived, self.p) if hot else resting(self.loop, self.p)
        self.y = start
        self.time_s = 0.0

    def run(self, seconds, ticks=1):
        """In steps of a number of ticks."""
        h_s = ticks * self.p[at.TICK_S]
        for _ in range(round(seconds / h_s)):
            self.time_s += h_s
            step(self.y, self.p, ticks, h_s, self.time_s)

    def pump(self, on):
        self.y[at.TOLD_PUMP] = self.y[at.CONTACT] = float(on)

    def fans(self, share):
        self.y[at.TOLD_FANS] = share


def lossless(loop, **fire):
    """The loop without losses of lines and tank, which the settling formula leaves out."""
    lines = {
        name: getattr(loop.lines, name).model_copy(update={"insulation_w_mk": 1e-6,
                                                           "insulation_mm": 50.0})
        for name in ("cold", "hot", "back")
    }
    return loop.model_copy(
        update={
            "lines": loop.lines.model_copy(update=lines),
            "tank": loop.tank.model_copy(update={"loss_w_k": 0.0}),
            "room": loop.room.model_copy(update={"heat_capacity_kj_k": 1e9}),
            "fire": loop.fire.model_copy(update=fire),
        }
    )
