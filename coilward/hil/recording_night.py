"""A rehearsed night with every tick recorded: our logic, in the interpreter, and a listener."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from coilward.controller.constants import Constants
from coilward.controller.decide import Decision, decide
from coilward.controller.state import State
from coilward.controller.types import Readings, Requests
from coilward.hil.tick import Tick
from coilward.simulator.logic import Logic

Listener = Callable[[Tick, State | None], None]
"""Takes a tick, and the state it began from where that is not the state of the tick before."""


def recorded(listen: Listener, *, began_s: float) -> Logic:
    """Our logic, which tells every tick of the night itself; not those in which the loop settles.

    ``began_s`` is the wall clock's time at the beginning of the night.
    """
    number = 0
    last: Any = None

    def tell(
        readings: Readings, requests: Requests, state: State, constants: Constants
    ) -> Decision:
        nonlocal number, last
        decision = decide(readings, requests, state, constants)
        if readings.time_s >= 0.0:
            begun = None if state is last else state
            wall_s = began_s + readings.time_s
            listen(
                Tick(number, wall_s, 0.0, (), readings, requests, decision.commands,
                     decision.state),
                begun,
            )  # fmt: skip
            number, last = number + 1, decision.state
        return decision

    return Logic(name="coilward", digest="", decide=tell)
