"""A rehearsal that is watched while it runs: the same night, held back to a speed."""

from __future__ import annotations

import threading
import time
from datetime import date
from typing import Final

from coilward.controller.state import State
from coilward.desk.live.source import MemorySource, Place
from coilward.hil.recording_night import recorded
from coilward.hil.tick import Tick
from coilward.loop.derived import derive
from coilward.loop.model import Loop
from coilward.loop.units import System
from coilward.simulator.bench import Bench
from coilward.simulator.night import Night
from coilward.simulator.rehearsal import Rehearsal

LONGEST_SLEEP_S: Final = 0.2


class _Stopped(Exception):  # noqa: N818 - an order, not an error
    """Nobody watches any more."""


class Watched:
    """Runs the night in a thread, tick by tick at ``speed`` times real time, into a source.

    The decisions are ours and the night is bit for bit the one that `coilward rehearse` shows:
    what is watched is handed over between two ticks, and only the wall clock is held back.
    """

    def __init__(
        self, loop: Loop, night: Night, *, speed: float, seed: int, today: date,
        system: System | None,
    ) -> None:  # fmt: skip
        self.night, self.speed, self.seed = night, speed, seed
        place = Place.of(loop, derive(loop, today), system)
        self.source = MemorySource(place, f"a rehearsal of {loop.name}: {night.name}")
        self._bench = Bench(loop, today, logic=recorded(self._listen, began_s=0.0))
        self._began_s = 0.0
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def start(self) -> None:
        """Begin the night."""
        self._thread.start()

    def stop(self) -> None:
        """End it before its time."""
        self._stop.set()
        self._thread.join()

    def _run(self) -> None:
        try:
            rehearsal = Rehearsal(
                self._bench, self.night, self._bench.start(self.night), self.seed, signalled=True
            )
            self._began_s = time.monotonic()
            rehearsal.play(None)
        except _Stopped:
            return
        self.source.end()

    def _listen(self, tick: Tick, _: State | None) -> None:
        self._hold_back(tick.readings.time_s)
        self.source.put(tick._replace(wall_s=time.time()))
        if self._stop.is_set():
            raise _Stopped

    def _hold_back(self, time_s: float) -> None:
        due_s = self._began_s + time_s / self.speed
        while (left_s := due_s - time.monotonic()) > 0.0 and not self._stop.is_set():
            time.sleep(min(left_s, LONGEST_SLEEP_S))
