"""A logged run as arrays, and the one way from rows to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.loop.units import (
    CELSIUS,
    KILOGRAMS,
    LITRES_PER_MINUTE,
    SHARE,
    Quantity,
)

Numbers = NDArray[np.float64]


class Channel(NamedTuple):
    """What a column of a log may be."""

    name: str
    words: str
    quantity: Quantity
    unit: str
    """Unit word of its numbers, as in `coilward.loop.units.show`."""
    lowest: float
    highest: float
    """What a thermometer, meter or switch of such a loop can show."""


CHANNELS: Final = {
    channel.name: channel
    for channel in (
        Channel("coil_outlet", "coil outlet", CELSIUS, "c", -50, 150),
        Channel("radiator_inlet", "radiator inlet", CELSIUS, "c", -50, 150),
        Channel("radiator_outlet", "radiator outlet", CELSIUS, "c", -50, 150),
        Channel("tank", "tank, at the pump's suction", CELSIUS, "c", -50, 150),
        Channel("room", "air of the room", CELSIUS, "c", -50, 60),
        Channel("outdoor", "air outdoors", CELSIUS, "c", -60, 60),
        Channel("flow", "flow", LITRES_PER_MINUTE, "lpm", 0, 200),
        Channel("fans", "fans, as a share of full", SHARE, "", 0, 1),
        Channel("damper", "damper, as a share of open", SHARE, "", 0, 1),
        Channel("dump", "dump, as a share of open", SHARE, "", 0, 1),
        Channel("wood", "wood put in at that time", KILOGRAMS, "kg", 0, 100),
        Channel("moisture", "water's share of the wood", SHARE, "", 0, 0.6),
    )
}
HELD: Final = ("fans", "damper", "dump", "moisture")
"""What is logged when it changes: between two rows it stays as it was."""
THERMOMETERS: Final = ("coil_outlet", "radiator_inlet", "radiator_outlet", "tank", "room")


@dataclass(frozen=True, eq=False)
class Log:
    """One logged run. A value that was not read is NaN."""

    file: str
    time_s: Numbers
    """Rising, from 0."""
    columns: Mapping[str, Numbers]
    """By the name of the channel, in the unit of its word: degC, L/min, kg, shares."""
    lines: NDArray[np.int64]
    """Line of the file that each row stands in."""
    starts: str = ""
    """Time of the first row as it was written."""

    def has(self, name: str) -> bool:
        """Whether a channel was logged at all."""
        return name in self.columns and bool(np.isfinite(self.columns[name]).any())

    def line_at(self, time_s: float) -> int:
        """Line of the row at a time, or of the last before it."""
        row = int(np.searchsorted(self.time_s, time_s, side="right")) - 1
        return int(self.lines[max(row, 0)])

    @property
    def every_s(self) -> float:
        """Usual time between two rows, s."""
        return float(np.median(np.diff(self.time_s)))


def log_of_rows(
    file: str, time_s: Any, columns: Mapping[str, Any], lines: Any = None, starts: str = ""
) -> Log:
    """A log from rows that are read already, whatever they were written in.

    ``time_s`` rises; ``columns`` are by channel, in its own unit, NaN where nothing was read.
    """
    at_s = np.asarray(time_s, dtype=float)
    numbers = {name: np.asarray(each, dtype=float) for name, each in columns.items()}
    rows = np.arange(len(at_s)) + 2 if lines is None else np.asarray(lines, dtype=np.int64)
    return Log(file, at_s - at_s[0], numbers, rows, starts)
