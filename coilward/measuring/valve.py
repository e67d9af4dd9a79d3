"""The throttle valve on weighed runs: where it cracks open, its play, its curve, its stop.

Flow is weighed near shut, where a pulse meter is blind. The valve sits in the loop while it is
measured, so its own curve (equal percentage: Kv = Kvs R^(stroke - 1)) is found through the
loop's pump and pipes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from coilward.loop.errors import InputRefused
from coilward.loop.hydraulics import SystemCoefficients, flow_lpm
from coilward.loop.units import KILOGRAMS, LITRES_PER_MINUTE, SECONDS, Quantity
from coilward.measuring.meter import volume_l
from coilward.measuring.readings import Column, Reading
from coilward.measuring.uncertainty import Numbers, curve_fit

CRACK_LPM: Final = 0.05
"""The valve counts as open where this much runs through."""
RESERVE: Final = 1.15
"""Over the minimum flow, for what the stop has to pass."""
FITS: Final = 0.1
"""A curve that leaves more of the flow than this is not that valve's curve."""
COLD_C: Final = 15.0
"""Water of the weighed runs: its density is good to 0.1 % from 5 to 20 degC."""
LEAST_R, MOST_R = 5.0, 200.0
POSITION: Final = Quantity("a position", "35 %", {"": 1.0, "%": 0.01, "units": 1.0}, bare=True)
"""A share of the stroke, or units of the servo."""

COLUMNS: Final = (
    Column("way", "how it came there", words=("opening", "closing", "stop")),
    Column("position", "share of the stroke, or servo units", POSITION, least=0, most=1e5),
    Column("flow", "the flow, if it is known", LITRES_PER_MINUTE, needed=False, usual=True, least=0,
           most=200),
    Column("mass", "the water that ran", KILOGRAMS, needed=False, least=0, most=5000),
    Column("time", "in this time", SECONDS, needed=False, above=0, most=86400),
)  # fmt: skip


class Step(NamedTuple):
    """One weighed run: how the valve came there, stroke from 0 to 1, position as read, L/min."""

    way: str
    stroke: float
    position: float
    flow_lpm: float


class Curve(NamedTuple):
    """The equal-percentage curve through the opening runs."""

    kvs_m3h: float
    rangeability: float
    rangeability_u: float
    misfit: float
    """Largest difference of a run from the curve, as a share of its flow."""


class Throttle(NamedTuple):
    """A measured valve; strokes as shares."""

    steps: tuple[Step, ...]
    crack_open: float
    """Stroke at which it passes 0.05 L/min on its way open."""
    crack_shut: float | None
    """The same on its way shut; None where no closing runs are there."""
    dead_travel: float | None
    """From the shut end to the first water, in the units that were read."""
    curve: Curve | None
    """None with fewer than three runs that pass water, or where no such curve goes through."""
    stop_stroke: float | None
    stop_lpm: float | None
    """Flow at the stop; None where it was not measured."""
    opens_down: bool
    """The servo's units fall while the valve opens."""

    @property
    def backlash(self) -> float | None:
        """Opening less closing: what the linkage takes up before the valve moves."""
        return None if self.crack_shut is None else max(self.crack_open - self.crack_shut, 0.0)


def crossing(steps: Sequence[Step], wanted_lpm: float = CRACK_LPM) -> float | None:
    """Stroke at which the flow passes a value, between two runs; None where it never does."""
    ordered = sorted(steps, key=lambda step: step.stroke)
    for below, above in pairwise(ordered):
        if below.flow_lpm <= wanted_lpm < above.flow_lpm:
            share = (wanted_lpm - below.flow_lpm) / (above.flow_lpm - below.flow_lpm)
            return below.stroke + share * (above.stroke - below.stroke)
    return None


def stroke_of(position: float, shut: float | None, opened: float | None) -> float:
    """The stroke, 0 shut to 1 open, of a share of it, or of servo units with both ends given."""
    if shut is None or opened is None:
        return position
    return (position - shut) / (opened - shut)


def steps_of(readings: Sequence[Reading], shut: float | None, opened: float | None) -> list[Step]:
    """The runs, with strokes from shut (0) to open (1).

    Raises InputRefused where a run has neither a flow nor mass and time, or lies off the stroke.
    """
    steps, faults = [], []
    for each in readings:
        position, flow = each.number("position"), each.number("flow")
        mass_kg, time_s = each.number("mass"), each.number("time")
        if math.isnan(flow):
            flow = 60 * volume_l(mass_kg, COLD_C) / time_s
        if math.isnan(flow):
            wanted = "flow 0.4 L/min, or mass 2.1 kg and time 60 s"
            faults.append(each.fault("flow", "neither a flow nor mass and time are there", wanted))
        stroke = stroke_of(position, shut, opened)
        if shut is None or opened is None:
            wanted = "a share from 0 to 100 %, or --shut and --open as well"
        else:
            wanted = f"a position from {shut:g} to {opened:g}"
        if not -1e-9 <= stroke <= 1 + 1e-9:
            faults.append(each.fault("position", "this is off the stroke", wanted))
        steps.append(Step(each.word("way"), stroke, position, flow))
    if faults:
        raise InputRefused(faults)
    return steps


def fitted(steps: Sequence[Step], system: SystemCoefficients) -> Curve | None:
    """Kvs and rangeability that make the loop pass what was weighed; relative least squares."""
    water = [step for step in steps if step.flow_lpm > 2 * CRACK_LPM]
    if len({step.stroke for step in water}) < 3:
        return None

    def passed(strokes: Numbers, log_kvs: float, log_range: float) -> Numbers:
        here = system._replace(
            kvs_m3h=math.exp(log_kvs), rangeability=math.exp(log_range), crack_open=0.0
        )
        return np.log([flow_lpm(here, float(stroke), 1.0) for stroke in strokes])

    try:
        fit = curve_fit(
            passed, [step.stroke for step in water],
            [math.log(step.flow_lpm) for step in water],
            (math.log(system.kvs_m3h), math.log(system.rangeability)),
        )  # fmt: skip
    except (ValueError, OverflowError):
        return None
    left = passed(np.array([step.stroke for step in water]), *fit.constants) - np.log(
        [step.flow_lpm for step in water]
    )
    kvs, rangeability = (math.exp(each) for each in fit.constants)
    if not LEAST_R <= rangeability <= MOST_R:
        return None
    misfit = float(np.max(np.abs(np.expm1(left))))
    return Curve(kvs, rangeability, rangeability * fit.u[1], misfit)


def calibrate(
    readings: Sequence[Reading], system: SystemCoefficients, shut: float | None,
    opened: float | None,
) -> Throttle:  # fmt: skip
    """What a table of weighed runs tells of a valve.

    `shut` and `opened` are the servo's positions at the ends, None where the table is in shares.
    Raises InputRefused where the table does not show the valve cracking open.
    """
    steps = steps_of(readings, shut, opened)
    opening = [step for step in steps if step.way == "opening"]
    closing = [step for step in steps if step.way == "closing"]
    crack = crossing(opening)
    if crack is None:
        problem = f"no opening run under and over {CRACK_LPM:g} L/min: the crack is not between any"
        wanted = "opening runs from shut on, the first without water"
        raise InputRefused([readings[0].fault("position", problem, wanted)])
    crack_shut = crossing(closing)
    if closing and crack_shut is None:
        problem = f"no closing run under and over {CRACK_LPM:g} L/min"
        wanted = "closing runs down to no water, or none"
        raise InputRefused([readings[-1].fault("position", problem, wanted)])
    stops = [step for step in steps if step.way == "stop"]
    travel = None if shut is None or opened is None else crack * abs(opened - shut)
    return Throttle(
        tuple(steps), crack, crack_shut, travel, fitted(opening, system),
        sum(step.stroke for step in stops) / len(stops) if stops else None,
        min(step.flow_lpm for step in stops) if stops else None,
        shut is not None and opened is not None and opened < shut,
    )  # fmt: skip
