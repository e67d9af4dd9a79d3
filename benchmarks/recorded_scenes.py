"""A plugin that keeps ticks which the logic's own tests decide, for others to decide again.

    python -m pytest -p benchmarks.recorded_scenes tests/controller

with COILWARD_SCENES naming the file. Kept are ticks in which something whole changes (a phase, a
cause, an output), the tick before and the tick after, and one in forty of the rest.
"""

from __future__ import annotations

import os
import pickle
from pathlib import Path
from typing import Any

import coilward.controller.decide as deciding

ONE_IN = 40


class Recorder:
    """Stands where `decide` stood."""

    def __init__(self) -> None:
        self.decide = deciding.decide
        self.kept: dict[Any, list[tuple[Any, ...]]] = {}
        self.count = 0
        self.last: tuple[Any, Any] | None = None
        """Constants and tick of the last decision, if it wasn't kept."""
        self.wholes: Any = None
        self.changed = False

    def __call__(self, readings: Any, requests: Any, state: Any, constants: Any) -> Any:
        decision = self.decide(readings, requests, state, constants)
        made, said = decision
        wholes = (
            made.mode, made.raised, made.seen, made.control.passed, made.doubt.suspects,
            said._replace(valve=0.0),
        )  # fmt: skip
        changes, changed = wholes != self.wholes, self.changed
        self.wholes, self.changed = wholes, changes
        self.count += 1
        tick = (readings, requests, state, decision)
        if not (changes or changed or self.count % ONE_IN == 0):
            self.last = (constants, tick)
            return decision
        if changes and self.last is not None:
            self.kept.setdefault(self.last[0], []).append(self.last[1])
        self.last = None
        self.kept.setdefault(constants, []).append(tick)
        return decision


RECORDER = Recorder()
deciding.decide = RECORDER


def pytest_sessionfinish() -> None:
    """Everything that was kept, by the constants that it was decided with."""
    Path(os.environ["COILWARD_SCENES"]).write_bytes(pickle.dumps(list(RECORDER.kept.items())))
