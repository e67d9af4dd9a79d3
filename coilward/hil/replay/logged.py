"""What a journal holds of a session around the tick at which two sides part, by the second."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.types import Readings
from coilward.hil.journal.layout import WHOLE_NUMBERS
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.session import Session
from coilward.learning.log import Log, log_of_rows

Numbers = NDArray[np.float64]
Wholes = NDArray[np.int64]
Flags = NDArray[np.bool_]

COMMANDS: Final = ("pump", "valve", "fans", "damper_open", "dump_open", "horn")
"""What the outputs were told, in the order of `Commands`, without the permission to light."""
AWAY_S: Final = 1.0
"""Between two ticks in a row more time than this: the board was away."""


class Logged(NamedTuple):
    """Ticks of one session, one row a tick; what was thinned away is left out."""

    number: Wholes
    tick: Wholes
    """Time in whole ticks: that of the plant's clock."""
    tick_s: float
    requests: Wholes
    meter_dead: Wholes
    """Whether the logic that ran held the meter for dead."""
    readings: dict[str, Numbers]
    """By name; NaN where nothing was read."""
    told: dict[str, Numbers]
    """Commands by name."""

    @property
    def away(self) -> Wholes:
        """Rows after which the board was away."""
        late_s = (np.diff(self.tick) - np.diff(self.number)) * self.tick_s
        return np.flatnonzero(late_s > AWAY_S)

    def rows_at(self, ticks: Wholes) -> Wholes:
        """The last row at or before each time; the first row before all of them."""
        return np.maximum(np.searchsorted(self.tick, ticks, side="right") - 1, 0)

    def cut(self, first: int, last: int) -> Logged:
        """The rows ``first`` to ``last``, both included."""
        return self.at_rows(np.arange(first, last + 1))

    def at_rows(self, rows: Wholes) -> Logged:
        """Some rows, in this order."""
        return Logged(
            self.number[rows], self.tick[rows], self.tick_s, self.requests[rows],
            self.meter_dead[rows],
            {name: each[rows] for name, each in self.readings.items()},
            {name: each[rows] for name, each in self.told.items()},
        )  # fmt: skip


def logged(reader: Reader, session: Session, last: int | None = None) -> Logged:
    """A session up to a tick. Raises as `Reader.columns`."""
    names = ("number", "requests", "mode_meter_dead", *COMMANDS, *Readings._fields)
    table = reader.columns(session, names, None, last)
    floats = {name: np.asarray(each, np.float64) for name, each in table.items()}
    wholes = {name: table[name].astype(np.int64) for name in names if name in WHOLE_NUMBERS}
    return Logged(
        wholes["number"], np.round(floats["time_s"] / session.tick_s).astype(np.int64),
        session.tick_s, wholes["requests"], wholes["mode_meter_dead"],
        {name: floats[name] for name in Readings._fields},
        {name: floats[name] for name in COMMANDS},
    )  # fmt: skip


def outlet_c(readings: dict[str, Numbers]) -> Numbers:
    """The hotter of the two outlet thermometers; NaN where neither was read."""
    return np.fmax(readings["coil_outlet_a_c"], readings["coil_outlet_b_c"])


def as_log(ticks: Logged) -> Log:
    """The same, one row a second, as `coilward.learning` takes a log."""
    a_second = round(1.0 / ticks.tick_s)
    rows = np.unique(ticks.rows_at(np.arange(ticks.tick[0], ticks.tick[-1] + 1, a_second)))
    came = {name: each[rows] for name, each in ticks.readings.items()}
    columns = {
        "coil_outlet": outlet_c(came), "tank": came["tank_c"], "flow": came["flow_lpm"],
        "radiator_inlet": came["radiator_inlet_c"], "radiator_outlet": came["radiator_outlet_c"],
        "room": came["room_c"], "fans": ticks.told["fans"][rows],
        "damper": ticks.told["damper_open"][rows], "dump": ticks.told["dump_open"][rows],
    }  # fmt: skip
    still = came["pulse_age_s"] > AWAY_S
    columns["flow"] = np.where(still, 0.0, columns["flow"])
    return log_of_rows("the journal", ticks.tick[rows] * ticks.tick_s, columns)
