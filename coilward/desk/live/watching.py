"""From a source to what is sent: every tick is followed, the newest one is told."""

from __future__ import annotations

import json
import math
import time
from collections.abc import Callable
from typing import Any, Final

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import PHASES
from coilward.desk.live.alarms import Panel, followed
from coilward.desk.live.buttons import Buttons
from coilward.desk.live.scene import scene_of
from coilward.desk.live.slopes import WINDOWS_S, slopes_of
from coilward.desk.live.source import Source
from coilward.desk.live.strip import SIGNALS, Strip, stays, trips
from coilward.desk.live.told import STALE_S, told
from coilward.hil.tick import Tick
from coilward.loop.units import convert

STRETCHES: Final = 600
UNITS: Final = {"c": "c", "lpm": "lpm", "w": "w", "v": "v"}
"""Last words of signals that are converted for a person; the others are shares."""


class Watching:
    """What is known of one source. Belongs to one thread."""

    def __init__(
        self, source: Source, buttons: Buttons, clock_s: Callable[[], float] = time.monotonic
    ) -> None:
        self.source, self.buttons, self._clock_s = source, buttons, clock_s
        self.strip = Strip(source.place)
        self.panel = Panel()
        self.newest: Tick | None = None
        self._came_s = clock_s()

    def take(self) -> bool:
        """Follow what has come; whether anything has."""
        newest = self.newest
        for tick in self.source.new():
            self.strip.add(tick)
            self.panel = followed(self.panel, tick)
            newest = tick
        if newest is self.newest:
            return False
        self.newest, self._came_s = newest, self._clock_s()
        return True

    def grave(self) -> tuple[int, int, int]:
        """What a viewer is told of at once when it changes."""
        if self.newest is None:
            return 0, 0, 0
        state = self.newest.state
        return state.mode.phase, state.raised, state.mode.latched

    def told(self) -> dict[str, Any]:
        """The snapshot of now, with what the page has to know about itself."""
        age_s = self._clock_s() - self._came_s
        about = {
            "kind": self.source.kind, "live": self.source.live,
            "buttons": self.buttons.there(), "why_none": self.buttons.why_none,
        }  # fmt: skip
        if self.newest is None:
            return {**about, "empty": True, "stale": age_s > STALE_S, "age_s": round(age_s, 1)}
        slopes = slopes_of(self.strip.columns(max(WINDOWS_S.values()), ("time_s", *WINDOWS_S)))
        scene = scene_of(self.newest, self.source.place, slopes)
        return {**about, **told(scene, self.panel, age_s, self.source.over())}

    def message(self) -> bytes:
        """The snapshot as JSON; what is not a number becomes null."""
        return json.dumps(_plain(self.told()), separators=(",", ":")).encode()

    def history(self, start_s: float, end_s: float) -> bytes:
        """Signals, trips and phases between two times.

        A line of JSON, padded to a multiple of eight bytes, then the columns named in it: each
        `count` little-endian doubles, in the units of the page.
        """
        stretch = self.strip.between(start_s, end_s, ("time_s", "phase", "raised"))
        drawn = self.strip.drawn(start_s, end_s, STRETCHES)
        first_s, last_s = self.strip.ends()
        head = {
            "columns": ["time_s", *SIGNALS],
            "count": len(drawn["time_s"]),
            "first_s": first_s,
            "last_s": last_s,
            "trips": [
                {"time_s": at_s, "words": _rows(mask)} for at_s, mask in trips(stretch)
            ],
            "phases": [
                {"from_s": from_s, "to_s": to_s, "phase": PHASES[phase]}
                for from_s, to_s, phase in stays(stretch)
            ],
        }
        line = json.dumps(head, separators=(",", ":")).encode()
        line += b" " * (-(len(line) + 1) % 8) + b"\n"
        return line + b"".join(
            self._shown(name, drawn[name]).astype("<f8").tobytes() for name in drawn
        )

    def _shown(self, name: str, values: Any) -> Any:
        unit = name.rpartition("_")[2]
        if unit not in UNITS or name == "time_s":
            return values
        system = self.source.place.system
        zero, one = convert(0.0, unit, system)[0], convert(1.0, unit, system)[0]
        return zero + values * (one - zero)


def _rows(mask: int) -> str:
    return ", ".join(row.cause for index, row in enumerate(ROWS) if mask >> index & 1)


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
