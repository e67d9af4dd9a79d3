"""What a rehearsed night leaves behind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from coilward.controller.constants import Constants
from coilward.controller.estimating import ENDLESS_LPM, HEAT_RESERVE
from coilward.controller.interlocks import ROWS
from coilward.controller.phases import PHASES, RUN
from coilward.controller.valve import RESERVE
from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.simulator.closed import LOG_COLUMNS, TRACE
from coilward.simulator.night import Night

Trace = dict[str, np.ndarray[Any, np.dtype[np.float64]]]
INTERNAL = ("heat_seen_w", "target_lpm")
AT_FULL = 0.995
OWN_LOGIC = "your own logic"
"""Stands for the phase where a logic of a person's own runs: nothing is known of its phases."""


class Cause(NamedTuple):
    """An interlock row that began to count."""

    time_s: float
    name: str
    first_out: bool
    latched: bool


class Peaks(NamedTuple):
    """Hottest before the first boil, degrees Celsius."""

    coil_outlet_true_c: float
    coil_wall_c: float
    tank_c: float


class Margins(NamedTuple):
    """Least before the first boil."""

    boil_k: float
    """Boiling minus the hottest water in the coil."""
    boil_s: float
    """Time to boil if the water stood still, with the heat of that moment."""


class Died(NamedTuple):
    """The end of a logic that raised. Before time zero: while the loop was settling."""

    time_s: float
    words: str


class Final(NamedTuple):
    """At the end of the night, degrees Celsius."""

    coil_outlet_true_c: float
    tank_c: float
    room_c: float


@dataclass(frozen=True)
class Run:
    """One rehearsed night. Margins and peaks freeze at the first boil."""

    loop: Loop
    night: Night
    seed: int
    engine: str
    derived: Derived
    constants: Constants
    duration_s: float
    x_real_time: float
    """Times faster than the night itself, without compiling and without settling."""
    trace: Trace
    """One column a name, one row a second."""
    phases: list[tuple[float, str]]
    causes: list[Cause]
    acts: list[tuple[float, str]]
    """Moments as they happened, in words."""
    peaks: Peaks
    margins: Margins
    first_boil_s: float | None
    pump_off_with_fire_s: float
    """Seconds without the pump while the coil took more than 5 % of the nominal heat, all night."""
    final: Final
    energy_closure: float
    faults_fired: dict[str, bool]
    """Whether every fault of a name took effect; a run with one that did not is invalid."""
    valve_limit_s: dict[str, float]
    """Seconds of the run phase with the valve at "full" opening or at the "clamp" of the
    minimum flow."""
    logic: str = ""
    """Name of the logic that ran in the place of ours; empty for ours."""
    died: Died | None = None
    """When that logic raised; the board was dead from then on."""


class Entry(NamedTuple):
    """One row of the log."""

    time_s: float
    phase: int
    raised: int
    latched: int
    first_out: int
    reset: bool
    """Whether the reset button was held."""


def entries(log: Sequence[float], rows: int, tick_s: float, reset: bool) -> list[Entry]:
    """The log in words and masks."""
    found = []
    for row in range(rows):
        tick, phase, raised, latched, first = log[row * LOG_COLUMNS : (row + 1) * LOG_COLUMNS]
        masks = int(phase), int(raised), int(latched), int(first)
        found.append(Entry(float(tick) * tick_s, *masks, reset))
    return found


def phases_of(start: int, log: list[Entry]) -> list[tuple[float, str]]:
    """Each change of the phase; the first entry is the phase at time zero."""
    if start < 0:
        return [(0.0, OWN_LOGIC)]
    found = [(0.0, PHASES[start])]
    for entry in log:
        if PHASES[entry.phase] != found[-1][1]:
            found.append((entry.time_s, PHASES[entry.phase]))
    if len(found) > 1 and found[1][0] == 0.0:
        del found[0]
    return found


def causes_of(log: list[Entry]) -> list[Cause]:
    """Each interlock row at the tick at which it began to count."""
    found = []
    before = 0
    for entry in log:
        for index, row in enumerate(ROWS):
            if entry.raised & ~before & (1 << index):
                latched = bool(entry.latched & (1 << index))
                found.append(Cause(entry.time_s, row.name, entry.first_out == index, latched))
        before = entry.raised
    return found


def columns(flat: Any) -> Trace:
    """The trace by name."""
    table = np.asarray(flat, dtype=float).reshape(-1, len(TRACE))
    return {name: table[:, column].copy() for column, name in enumerate(TRACE)}


def minimum_lpm(trace: Trace, constants: Constants) -> np.ndarray[Any, np.dtype[np.float64]]:
    """The controller's minimum flow of the moment: what it reckoned with, from what it saw."""
    water = constants.water
    tank_c = trace["tank_seen_c"]
    tank_c = np.where(np.isnan(tank_c), trace["radiator_outlet_c"] + 2.0, tank_c)
    heat_w = np.maximum(HEAT_RESERVE * trace["heat_seen_w"], constants.reckoned.least_heat_w)
    room_k = constants.limits.allow_c - tank_c
    enough = room_k >= 3.0
    flow_lpm = heat_w / (water.w_per_lpm_k * np.where(enough, room_k, 1.0))
    return np.where(enough, np.maximum(flow_lpm, water.least_lpm), ENDLESS_LPM)


def at_limits_s(trace: Trace, constants: Constants, from_s: float = 0.0) -> dict[str, float]:
    """Seconds of the run phase that the valve spent at either of its limits."""
    in_run = (trace["phase"] == RUN) & (trace["time_s"] >= from_s)
    lowest_lpm = np.maximum(RESERVE * trace["flow_min_lpm"], constants.water.stop_lpm)
    full = in_run & (trace["valve_cmd"] >= AT_FULL)
    clamp = in_run & ~full & (trace["target_lpm"] <= 1.001 * lowest_lpm)
    step_s = float(trace["time_s"][1] - trace["time_s"][0]) if len(in_run) > 1 else 0.0
    return {"full": step_s * float(full.sum()), "clamp": step_s * float(clamp.sum())}
