"""A short faulted night with all of its ticks, and sessions to put them in."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import NamedTuple

from coilward.controller.constants import constants_for
from coilward.controller.state import State
from coilward.hil.journal.session import Session, session_of
from coilward.hil.recording_night import recorded
from coilward.hil.tick import Tick
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.shipped import loop_text
from coilward.simulator.night import Night
from coilward.simulator.rehearsal import rehearse

DAY = date(2026, 11, 25)
BEGAN_S = 1_795_000_000.0


class Recorded(NamedTuple):
    """Ticks, and the states that some of them began from."""

    ticks: list[Tick]
    origins: dict[int, State]

    @property
    def first(self) -> State:
        return self.origins[0]


@cache
def night(
    fault: str = "pump-dies", duration: str = "6 min", at: str = "3 min", loop: str = "greenhouse"
) -> Recorded:
    """A loop, settled at its nominal heat, and a fault."""
    night = Night.model_validate({
        "coilward": 1, "name": fault, "duration": duration, "start": "running",
        "moment": [{"at": at, "do": "fault", "fault": fault}],
    })  # fmt: skip
    ticks, origins = [], {}

    def listen(tick, begun):
        ticks.append(tick)
        if begun is not None:
            origins[tick.number] = begun

    logic = recorded(listen, began_s=BEGAN_S)
    rehearse(read_loop(loop), night, seed=1, today=DAY, logic=logic)
    return Recorded(ticks, origins)


@cache
def constants(name: str = "greenhouse"):
    loop = read_loop(name)
    return constants_for(loop, derive(loop, DAY))


def session(name: str = "greenhouse", raw: tuple[str, ...] = (), tick_s: float = 0.25) -> Session:
    """As a rehearsal of that loop begins one."""
    made = session_of(
        "rehearsal", loop_text(name), read_loop(name), constants(name), day=DAY, began_s=BEGAN_S,
        about="a short night", seed=1, raw=raw,
    )  # fmt: skip
    return made._replace(tick_s=tick_s)
