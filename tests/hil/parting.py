"""A night whose logic changes at a known moment, and the same night without the change.

The plant, its noise, the fire and what breaks are the same in both, so that the second night,
with the change, is the truth about the simulated rest of the first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from coilward.controller.constants import Constants, constants_for
from coilward.controller.state import State
from coilward.hil.journal.keeping import Keeper
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.session import session_of
from coilward.hil.recording_night import recorded
from coilward.hil.replay.replaying import Replayed, replay
from coilward.hil.replay.rest import Rest, simulated_rest
from coilward.hil.tick import Tick
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.shipped import loop_text
from coilward.simulator.bench import Bench
from coilward.simulator.night import Night
from coilward.simulator.rehearsal import rehearsed
from coilward.simulator.tolerances import deviate
from tests.controller.rig import changed
from tests.hil.made import BEGAN_S, DAY


class Lived(NamedTuple):
    """A night as it was lived: its ticks, the states that some began from, and when it boiled."""

    ticks: list[Tick]
    origins: dict[int, State]
    run: Any

    def reading(self, name: str) -> np.ndarray:
        """One reading of every tick."""
        return np.array([getattr(tick.readings, name) for tick in self.ticks])


def night_of(moments: list[dict], minutes: float = 40.0, start: str = "running") -> Night:
    return Night.model_validate({
        "coilward": 1, "name": "made", "duration": f"{minutes} min", "start": start,
        "moment": moments,
    })  # fmt: skip


def fault(name: str, at_min: float, **more) -> dict:
    return {"at": f"{at_min} min", "do": "fault", "fault": name, **more}


def constants_of(name: str, **limits: float) -> Constants:
    """Of a shipped loop, some of its limits moved."""
    loop = read_loop(name)
    made = constants_for(loop, derive(loop, DAY))
    return changed(made, limits=made.limits._replace(**limits))


def lived(
    name: str, night: Night, then: Constants, now: Constants | None = None,
    at_s: float = 0.0, *, seed: int = 1, off: Sequence[float] = (),
) -> Lived:  # fmt: skip
    """The night with one logic's constants, and from a time on with the other's.

    ``off`` are places in the tolerances by which the true plant is off from the loop file's.
    """
    ticks: list[Tick] = []
    origins: dict[int, State] = {}

    def listen(tick, begun):
        ticks.append(tick)
        if begun is not None:
            origins[tick.number] = begun

    logic = recorded(listen, began_s=BEGAN_S)

    def decide(readings, requests, state, constants):
        changed = now is not None and readings.time_s >= at_s
        return logic.decide(readings, requests, state, now if changed else then)

    bench = Bench(read_loop(name), DAY, "interpreted", replace(logic, decide=decide))
    start = bench.start(night)
    if off:
        deviate(start.p, bench.loop, off)
    run = rehearsed(bench, night, start, seed=seed)
    return Lived(ticks, origins, run)


def journal_of(path, name: str, made: Lived) -> None:
    session = session_of(
        "rehearsal", loop_text(name), read_loop(name), constants_of(name), day=DAY,
        began_s=BEGAN_S, about="made", seed=1,
    )  # fmt: skip
    keeper = Keeper(path, session, made.origins[0])
    for tick in made.ticks:
        keeper.take(tick, (), made.origins.get(tick.number) if tick.number else None)
        if tick.number % 240 == 239:
            keeper.write_chunk()
    keeper.close()


def rest_of(path, now: Constants, at_s: float, engine: str = "interpreted"
            ) -> tuple[Replayed, Rest]:  # fmt: skip
    """The journal decided again from a time on, and its simulated rest."""
    with Reader(path) as reader:
        [session] = reader.sessions()
        found = replay(reader, session, now, first=round(at_s / session.tick_s), engine=engine)
        assert found.parts is not None
        return found, simulated_rest(reader, session, now, found.parts, engine=engine)
