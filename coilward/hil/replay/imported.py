"""A plain log as ticks: what a board would have read, as far as the log tells it.

Between two rows a value stays; where a row is missing for long, nothing was read. What the log
has no column for counts as not fitted: it feeds no row, and so protects nothing either.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.constants import Constants, Fitted
from coilward.controller.phases import RUN
from coilward.controller.state import YES, first_state
from coilward.controller.types import Readings
from coilward.hil.journal.layout import HEAD, Words
from coilward.hil.replay.changes import Change, changes_in
from coilward.hil.replay.redecider import OUTCOME, Redecider
from coilward.hil.replay.replaying import FACT_ROWS
from coilward.learning.log import Log
from coilward.simulator.engine import Engine

CHANNELS: Final = {
    "coil_outlet_a_c": "coil_outlet", "tank_c": "tank", "flow_lpm": "flow",
    "radiator_inlet_c": "radiator_inlet", "radiator_outlet_c": "radiator_outlet",
    "room_c": "room",
}  # fmt: skip
"""Reading, and the log's name for it."""
NEEDED: Final = ("coil_outlet", "tank", "flow")
QUIET: Final = {
    "level_low": 0.0, "level_low_low": 0.0, "vent_wet": 0.0, "smoke": 0.0, "co_ppm": 0.0,
    "damper_shut": 0.0, "flow_switch": 0.0, "pump_contact": 1.0, "constants_ok": 1.0,
}  # fmt: skip
"""What a board without the part reads."""
LOST_ROWS: Final = 5.0
"""Usual times between two rows after which a reading counts as lost."""


class Imported(NamedTuple):
    """What the logic decides on a plain log."""

    changes: list[Change]
    ticks: int
    unfitted: tuple[str, ...]
    """Channels that the loop file has and the log hasn't."""


def lacking(log: Log) -> list[str]:
    """Columns without which nothing can be decided."""
    return [name for name in NEEDED if not log.has(name)]


def decided(log: Log, constants: Constants, engine: Engine = "auto") -> Imported:
    """Decide a log, beginning with a fire in the steady run. It has all that `lacking` asks for."""
    fitted, unfitted = _fitted(log, constants.fitted)
    constants = constants._replace(fitted=fitted)
    inputs = ticks_of(log, constants)
    outcome: Words = np.empty((OUTCOME, inputs.shape[1]), np.uint64)
    first = first_state(constants, RUN, YES)
    Redecider(constants, engine).decide(inputs, outcome, 0, inputs.shape[1], first)
    times_s = inputs[len(HEAD)].view(np.float64)
    changes = changes_in(outcome[FACT_ROWS], inputs[0].view(np.int64), times_s, None)
    return Imported(changes, inputs.shape[1], unfitted)


def _fitted(log: Log, fitted: Fitted) -> tuple[Fitted, tuple[str, ...]]:
    """Channels that are in the loop and in the log; and those that are in the loop alone."""
    logged = {"radiator", "tub"} | {
        reading.removesuffix("_c") for reading, name in CHANNELS.items() if log.has(name)
    }
    kept = {name: fits and name in logged for name, fits in fitted._asdict().items()}
    left = tuple(name for name, fits in fitted._asdict().items() if fits and not kept[name])
    return Fitted(**kept), left


def ticks_of(log: Log, constants: Constants) -> Words:
    """The inputs of every tick, in the order of a journal's."""
    ticks = int(log.time_s[-1] / constants.tick_s) + 1
    times_s: NDArray[Any] = constants.tick_s * np.arange(ticks, dtype=np.float64)
    rows = np.searchsorted(log.time_s, times_s, side="right") - 1
    lost = times_s - log.time_s[rows] > LOST_ROWS * log.every_s
    readings = {name: np.full(ticks, QUIET.get(name, math.nan)) for name in Readings._fields}
    readings["time_s"] = times_s
    readings["supply_v"][:] = constants.power.rated_v
    for name, channel in CHANNELS.items():
        if log.has(channel):
            readings[name] = np.where(lost, math.nan, log.columns[channel][rows])
    readings["pulse_age_s"] = _still_s(readings["flow_lpm"], constants.tick_s)
    numbers = np.arange(ticks, dtype=np.uint64)
    head = [numbers, np.zeros(ticks, np.uint64), *[times_s.view(np.uint64)] * 2]
    return np.array([*head, *(readings[name].view(np.uint64) for name in Readings._fields)])


def _still_s(flow_lpm: NDArray[np.float64], tick_s: float) -> NDArray[np.float64]:
    """Since the last tick with flow; a lost reading has no pulse either."""
    at = np.arange(len(flow_lpm))
    last = np.maximum.accumulate(np.where(flow_lpm > 0.0, at, 0))
    return tick_s * (at - last).astype(np.float64)
