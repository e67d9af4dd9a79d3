"""What the outputs were told, second by second, in words: read from the trace, whoever decided."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from coilward.simulator.run import Run


class Deed(NamedTuple):
    """One output that changed. Times as in the trace, whole seconds."""

    time_s: float
    words: str


class _Change(NamedTuple):
    """An output that crosses a level, and the words for either way; empty words are not told."""

    trace: str
    level: float
    up: str
    down: str


_CHANGES: Final = (
    _Change("pump_cmd", 0.5, "starts the pump", "stops the pump"),
    _Change("valve_cmd", 0.995, "opens the valve fully", ""),
    _Change("fans_cmd", 0.995, "runs the fans full", ""),
    _Change("damper_cmd", 0.5, "opens the damper", "shuts the damper"),
    _Change("dump_cmd", 0.5, "opens the dump", "shuts the dump"),
    _Change("horn", 2.5, "sounds the horn without a break", ""),
)


def deeds(run: Run, since_s: float, until_s: float) -> list[Deed]:
    """Every output that was told something new between two times, in order of time."""
    time_s = run.trace["time_s"]
    found = []
    for change in _CHANGES:
        high = run.trace[change.trace] >= change.level
        for index in np.flatnonzero(high[1:] != high[:-1]) + 1:
            words = change.up if high[index] else change.down
            if words and since_s <= time_s[index] <= until_s:
                found.append(Deed(float(time_s[index]), words))
    return sorted(found, key=lambda deed: deed.time_s)


def first_of_each(every: list[Deed]) -> list[Deed]:
    """What was done at the same time in one line, and nothing a second time."""
    firsts: dict[str, float] = {}
    for deed in every:
        firsts.setdefault(deed.words, deed.time_s)
    joined: dict[float, list[str]] = {}
    for words, at_s in firsts.items():
        joined.setdefault(at_s, []).append(words)
    return [Deed(at_s, listed(words)) for at_s, words in joined.items()]


def listed(words: list[str]) -> str:
    """As in "this, this and that"."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))
