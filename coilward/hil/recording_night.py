"""A rehearsed night with every tick recorded: our logic, in the interpreter, and a listener."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any, Final

from coilward.controller.constants import Constants, constants_for
from coilward.controller.decide import Decision, decide
from coilward.controller.state import State
from coilward.controller.types import Readings, Requests
from coilward.hil.journal.keeping import Keeper
from coilward.hil.journal.session import session_of
from coilward.hil.journal.store import open_to_write, refused
from coilward.hil.tick import Tick
from coilward.loop.derived import derive
from coilward.loop.model import Loop
from coilward.simulator.logic import Logic

Listener = Callable[[Tick, State | None], None]
"""Takes a tick, and the state it began from where that is not the state of the tick before."""
TOGETHER: Final = 240
"""Ticks that become a chunk."""


def recorded(listen: Listener, *, began_s: float) -> Logic:
    """Our logic, which tells every tick of the night itself; not those in which the loop settles.

    ``began_s`` is the wall clock's time at the beginning of the night.
    """
    # Without a name, as ours in every report.
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

    return Logic(name="", digest="", decide=tell)


@contextmanager
def into_journal(
    path: str | Path, loop_text: str, loop: Loop, *, about: str, seed: int, day: date,
    began_s: float,
) -> Iterator[Logic]:  # fmt: skip
    """Our logic, whose every tick of one night goes into a new session of a journal.

    Raises InputRefused where the file is no journal, or can't be written, before anything runs;
    and where the disk is full later on: the night's ticks so far stay.
    """
    name = str(path)
    constants = constants_for(loop, derive(loop, day))
    session = session_of(
        "rehearsal", loop_text, loop, constants, day=day, began_s=began_s, about=about, seed=seed
    )
    keepers: list[Keeper] = []

    def listen(tick: Tick, begun: State | None) -> None:
        if begun is not None and not keepers:
            keepers.append(Keeper(path, session, begun))
        [keeper] = keepers
        keeper.take(tick, (), begun)
        if tick.number % TOGETHER == TOGETHER - 1:
            keeper.write_chunk()

    try:
        open_to_write(path).close()
        yield recorded(listen, began_s=began_s)
        for keeper in keepers:
            keeper.write_chunk()
    except sqlite3.Error as error:
        raise refused(name, f"the journal can't be written ({error})", "a disk with room, and a "
                      "file that can be written") from None  # fmt: skip
    finally:
        for keeper in keepers:
            keeper.connection.close()
