"""The pump by its current: what it draws while it pumps, and what tells that it does not.

While it pumps it draws least against a shut valve and most with the valve open; both are healthy.
Dry or full of air it draws less than either, held fast more. The window is put half-way between
the tolerance limits of the classes: 99 % of a class, with 95 % confidence.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from coilward.loop.errors import InputRefused
from coilward.loop.units import AMPERES, LITRES_PER_MINUTE
from coilward.measuring.readings import Column, Reading
from coilward.measuring.uncertainty import Part, Uncertainty, half_step_u, tolerance_factor

STATES: Final = ("running", "shut off", "dry", "held fast")
LEAST_READINGS: Final = 3

COLUMNS: Final = (
    Column("state", "what the pump is doing", words=STATES),
    Column("current", "its current", AMPERES, least=0, most=100),
    Column("flow", "the flow, with the valve open", LITRES_PER_MINUTE, needed=False, above=0,
           most=200),
)  # fmt: skip


class Class(NamedTuple):
    """Currents in one state, A."""

    state: str
    readings: tuple[float, ...]
    mean_a: float
    deviation_a: float
    low_a: float
    high_a: float
    """99 % lie over the one, and 99 % under the other, with 95 % confidence each."""


class Currents(NamedTuple):
    """A learned pump."""

    classes: tuple[Class, ...]
    running_a: float
    low_a: float
    """Under it the pump is dry or full of air."""
    high_a: float
    """Over it the pump is held fast."""
    tells_shut: bool
    """The current tells a shut valve from a running pump."""
    flow_lpm: float | None
    flow_doubt: Uncertainty | None
    """Mean of the flows with the valve open, and its doubt."""


def class_of(state: str, readings: Sequence[float], step_a: float) -> Class:
    """Mean, spread and tolerance limits; the meter's step counts as spread of its own."""
    mean = float(np.mean(readings))
    deviation = math.hypot(float(np.std(readings, ddof=1)), half_step_u(step_a))
    reach = tolerance_factor(len(readings)) * deviation
    return Class(state, tuple(readings), mean, deviation, mean - reach, mean + reach)


def calibrate(readings: Sequence[Reading], *, step_a: float) -> Currents:
    """The window around a running pump's current, from recorded currents.

    Raises InputRefused where a state has too few readings, or where two can't be told apart.
    """
    found: dict[str, list[Reading]] = {state: [] for state in STATES}
    for each in readings:
        found[each.word("state")].append(each)
    last = readings[-1]
    few = [state for state in STATES if len(found[state]) < LEAST_READINGS]
    if few:
        problem = f"fewer than {LEAST_READINGS} readings of {', '.join(few)}"
        wanted = f"at least {LEAST_READINGS} lines of each of {', '.join(STATES)}"
        raise InputRefused([last.fault("state", problem, wanted)])
    classes = {
        state: class_of(state, [each.number("current") for each in lines], step_a)
        for state, lines in found.items()
    }
    running, shut, dry, held = (classes[state] for state in STATES)
    least = min(running.low_a, shut.low_a)
    most = max(running.high_a, shut.high_a)
    faults = [
        found[state][0].fault("current", _overlap(low, high), "steadier or more readings of both")
        for state, low, high in (
            ("dry", dry, min(running, shut, key=lambda each: each.low_a)),
            ("held fast", max(running, shut, key=lambda each: each.high_a), held),
        )
        if low.high_a >= high.low_a
    ]
    if faults:
        raise InputRefused(faults)
    flows = [each.number("flow") for each in found["running"]]
    flows = [flow for flow in flows if not math.isnan(flow)]
    doubt = None
    if len(flows) > 1:
        deviation = float(np.std(flows, ddof=1)) / math.sqrt(len(flows))
        doubt = Uncertainty((Part("repeats", deviation, len(flows) - 1),))
    return Currents(
        tuple(classes.values()), running.mean_a, (dry.high_a + least) / 2,
        (most + held.low_a) / 2, shut.high_a < running.low_a or running.high_a < shut.low_a,
        sum(flows) / len(flows) if flows else None, doubt,
    )  # fmt: skip


def _overlap(low: Class, high: Class) -> str:
    return (
        f"{low.state} reaches up to {low.high_a:.2f} A and {high.state} down to "
        f"{high.low_a:.2f} A: the current can't tell one from the other"
    )
