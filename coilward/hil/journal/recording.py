"""A rehearsed night as a journal: our own logic in the simulator, with every tick written down."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import coilward
from coilward.controller.constants import Constants
from coilward.controller.decide import Decision, decide
from coilward.controller.state import State
from coilward.controller.types import Readings, Requests
from coilward.hil.journal.opening import refused
from coilward.hil.journal.schema import Kind, Session
from coilward.hil.journal.writer import Writer
from coilward.hil.tick import Tick
from coilward.loop.document import loop_id
from coilward.loop.model import Loop
from coilward.simulator.logic import Logic


def code_hash() -> str:
    """Sixteen hexadecimal digits that change with any source of the controller."""
    digest = hashlib.sha256()
    for file in sorted((Path(coilward.__file__).parent / "controller").glob("*.py")):
        digest.update(file.name.encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


def session_of(
    kind: Kind, loop: Loop, text: str, day: str, constants: Constants, *, wall_s: float,
    seed: int | None = None, raw: tuple[str, ...] = (), before: State | None = None,
) -> Session:  # fmt: skip
    """What a journal has to know of a start: ``text`` is the loop's file, ``day`` an ISO date."""
    return Session(
        kind=kind, tick_s=constants.tick_s, loop_name=loop.name, loop_text=text,
        loop_id=loop_id(loop), day=day, constants=constants.checksum, code=code_hash(),
        wall_s=wall_s, seed=seed, raw=raw, before=before,
    )  # fmt: skip


class Recorder:
    """Decides as ever, and writes every tick from time zero on. Every restart is a session."""

    def __init__(self, path: str, session: Session) -> None:
        """Raises InputRefused where the file is something else than a journal."""
        self._path, self._session = path, session
        self._writer: Writer | None = None
        self._after: State | None = None
        self._number = 0
        self._said: list[str] = []

    def logic(self) -> Logic:
        """Ours, which needs no name, to be rehearsed by the interpreter."""
        return Logic(name="", digest=self._session.code, decide=self._decide)

    def close(self) -> None:
        """Ends the journal. Raises InputRefused where not every tick is in it."""
        if self._writer is None:
            return
        self._writer.close(None)
        if self._writer.dropped or self._said:
            why = self._said[0] if self._said else f"{self._writer.dropped} ticks are not in it"
            raise refused(self._path, why, "a disk with room for the night")

    def _decide(
        self, readings: Readings, requests: Requests, state: Any, constants: Constants
    ) -> Decision:
        decision = decide(readings, requests, state, constants)
        if readings.time_s < 0.0:
            return decision
        wall_s = self._session.wall_s + readings.time_s
        if state is not self._after:
            # The board was set up, or started anew: it remembers what no tick left behind.
            begun = replace(self._session, before=state, wall_s=wall_s)
            if self._writer is None:
                self._writer = Writer(self._path, begun, say=self._said.append, wait=True)
            else:
                self._writer.begin(begun)
            self._number = 0
        tick = Tick(
            self._number, wall_s, 0.0, (), readings, requests, decision.commands, decision.state
        )
        if self._writer is not None:
            self._writer.put(tick)
        self._number += 1
        self._after = decision.state
        return decision
