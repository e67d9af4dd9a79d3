"""What every night must keep to, whoever wrote the logic: judged by what is true and what is told.

What the formulas read of the plant is true, never a reading. Outputs are those that the board
tells. While the board is away, and until it has had its time to start, nothing is asked of them. A
fire counts once the logic has given it air: a fire that nobody announced is answered for by its own
rule.

Nothing after the first boil counts: the caller cuts the signals there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from coilward.proving.bounds import Bounds, samples
from coilward.proving.formulas import Formula
from coilward.proving.recording import Recording
from coilward.proving.robustness import (
    all_of,
    always,
    at_least,
    at_most,
    historically,
    implies,
    lasts,
    names_in,
    once,
    since,
    sure,
)
from coilward.proving.windows import Floats

OPEN_STROKE = 0.99
SLACK_STROKE = 0.01
"""Under the stop by less is nothing that a servo could show."""
COMFORT_K = 10.0
"""The allowed temperature keeps this distance from the limit of the coil's water."""
JOINT_COMFORT_K = 20.0
"""From the joints' limit to metal that is just wetted by boiling water."""
MOST = 10.0
"""Given for a requirement that nothing asked for, and for any larger margin."""


class Signals(NamedTuple):
    """One run, one value a tick. Temperatures in degC; outputs as told, 1.0 for on or open."""

    time_s: Floats
    water_c: Floats
    """Hottest water in the coil."""
    wall_c: Floats
    """Hottest metal of the coil."""
    outlet_c: Floats
    tank_c: Floats
    """At the pump's suction, where the thermometer is."""
    flow_lpm: Floats
    """Through the coil."""
    heat_w: Floats
    """Into the coil."""
    supply_v: Floats
    pump: Floats
    valve: Floats
    """Stroke, 0 shut to 1 open."""
    damper: Floats
    dump: Floats
    fans: Floats
    horn: Floats
    phase: Floats
    awake: Floats
    """1.0 while the board decides."""
    outlet_a_seen_c: Floats
    outlet_b_seen_c: Floats
    tank_seen_c: Floats
    radiator_outlet_seen_c: Floats
    """What the thermometers show; NaN for one that is lost. No formula reads these."""
    raised: Floats
    """Rows that count, as a mask."""


def signals_of(flat: Floats) -> Signals:
    """A flat buffer, one signal after the other; ValueError where it can't be cut into signals."""
    return Signals(*np.asarray(flat, dtype=float).reshape(len(Signals._fields), -1))


class Shared:
    """Conditions that more than one requirement asks about: each is sure, and reckoned once."""

    def __init__(self, bounds: Bounds) -> None:
        """All conditions of one loop."""
        self.bounds = bounds
        awake = sure(at_least("awake", 0.5))
        self.awake = historically(awake, 0, self.ticks(bounds.boot_s))
        self.awake_long = historically(awake, 0, self.ticks(bounds.dump_least_s))
        self.fire = sure(at_least("heat_w", bounds.fire_w))
        self.still = sure(at_most("flow_lpm", bounds.still_lpm))
        self.pump = sure(at_least("pump", 0.5))
        self.dump = sure(at_least("dump", 0.5))
        # Told off while the water moved: a pump told off after it stopped is another matter.
        moves = sure(at_least("flow_lpm", bounds.moves_lpm))
        moved = historically(moves, 0, self.ticks(bounds.no_flow_s))
        self.stopped = since(~self.pump, ~self.pump & moved)
        air = sure(at_least("damper", 0.5))
        self.owned = since(self.fire, self.fire & air)
        alarmed = once(sure(at_least("horn", 0.5)), 0, self.ticks(bounds.silence_s))
        # Once the pump is locked off, nothing that could feed a dry coil may be opened any more.
        let_through = sure(at_least("valve", OPEN_STROKE)) | ~self.pump
        self.answered = sure(let_through & ~air & alarmed)
        self.shed = self.answered
        if bounds.has_dump:
            self.shed = sure((self.dump | ~self.pump) & self.answered)

    def ticks(self, duration_s: float) -> int:
        """Whole ticks in a duration, at least one."""
        return samples(duration_s, self.bounds.tick_s)

    def within(self, duration_s: float, *unanswered: Formula) -> Formula:
        """It lasts no longer than this while a fire is in and the board awake."""
        while_in = all_of(*unanswered, self.fire, self.awake, self.owned)
        return always(~lasts(while_in, self.ticks(duration_s)))


def _water(shared: Shared) -> Formula:
    return always(at_most("water_c", shared.bounds.water_limit_c))


def _joints(shared: Shared) -> Formula:
    return always(at_most("wall_c", shared.bounds.joint_limit_c))


def _no_flow(shared: Shared) -> Formula:
    return shared.within(shared.bounds.no_flow_s, shared.still, ~shared.answered)


def _outlet(shared: Shared) -> Formula:
    bounds = shared.bounds
    hot = sure(at_least("outlet_c", bounds.outlet_hot_c))
    flowed = historically(~shared.still, 0, shared.ticks(bounds.slug_s))
    return shared.within(bounds.outlet_s, hot, ~shared.shed, flowed)


def _tank(shared: Shared) -> Formula:
    hot = sure(at_least("tank_c", shared.bounds.tank_hot_c))
    return shared.within(shared.bounds.tank_s, hot, ~shared.shed)


def _pump_on(shared: Shared) -> Formula:
    return shared.within(shared.bounds.retry_s, shared.stopped)


def _burnt_out(shared: Shared) -> Formula:
    lately = once(shared.owned, 0, shared.ticks(shared.bounds.embers_s))
    too_soon = all_of(lately, ~shared.fire, shared.stopped, shared.awake)
    return always(~lasts(too_soon, shared.ticks(shared.bounds.retry_s)))


def _pump_off(shared: Shared) -> Formula:
    return shared.within(shared.bounds.window_s, shared.still, shared.pump)


def _pump_off_in_time(shared: Shared) -> Formula:
    # From the first tick of a board that is back: to start a pump takes no time to think.
    pumps = all_of(shared.still, shared.pump, shared.fire, sure(at_least("awake", 0.5)))
    return always(implies(sure(pumps), at_most("water_c", shared.bounds.water_limit_c)))


def _valve(shared: Shared) -> Formula:
    told = at_least("valve", shared.bounds.valve_stop - SLACK_STROKE)
    return always(implies(sure(shared.fire & shared.awake), told))


def _dump(shared: Shared) -> Formula:
    ends = ~shared.dump & once(shared.dump, 1, 1)
    again = all_of(ends, once(once(ends), 1, 1), shared.fire, shared.awake_long)
    since_last = lasts(~ends, shared.ticks(shared.bounds.dump_least_s) - 1)
    return always(implies(sure(again), once(since_last, 1, 1)))


@dataclass(frozen=True)
class Requirement:
    """One thing that every night must keep to."""

    name: str
    words: str
    """What is required, and why."""
    source: str
    scale: Callable[[Shared], float]
    """A comfortable margin, in kelvin, stroke or ticks."""
    formula: Callable[[Shared], Formula]


def _constant(scale: float) -> Callable[[Shared], float]:
    return lambda _: scale


def _share(field: str) -> Callable[[Shared], float]:
    return lambda shared: float(shared.ticks(getattr(shared.bounds, field)))


PRACTICE = "common practice, no source"
REQUIREMENTS: tuple[Requirement, ...] = (
    Requirement(
        "water-under-boiling",
        "The hottest water in the coil stays 5 K under boiling: closer, steam forms at hot spots "
        "and pushes the water out.",
        PRACTICE, _constant(COMFORT_K), _water),
    Requirement(
        "joints-under-limit",
        "The coil's metal stays under 121 degC: above, soft solder near it loses its strength.",
        "general service limit of soft-soldered joints, Copper Tube Handbook",
        _constant(JOINT_COMFORT_K), _joints),
    Requirement(
        "no-flow-answered",
        "When the water stands over a fire, the valve is open, the damper shut and the horn "
        "sounding within a quarter of the time to boil, at most 3 s: each second less is lost.",
        PRACTICE, _share("no_flow_s"), _no_flow),
    Requirement(
        "outlet-trip-answered",
        "When the water leaving the coil is truly over its trip, everything that cools is on "
        "within the thermometer's lag and the trip's own time: later it comes near boiling.",
        PRACTICE, _share("outlet_s"), _outlet),
    Requirement(
        "tank-trip-answered",
        "When the tank is truly over its trip, everything that cools is on within the "
        "thermometer's lag and the trip's own time: a hot tank leaves no room for a larger fire.",
        PRACTICE, _share("tank_s"), _tank),
    Requirement(
        "pump-kept-on",
        "While a fire is in and water moves, the pump is never told off for longer than the 1 s "
        "that shakes it loose: to stop the water is the one thing that a fire does not forgive.",
        PRACTICE, _share("retry_s"), _pump_on),
    Requirement(
        "burn-out-waited",
        "The pump is not told off within a quarter of an hour after the fire's last heat, unless "
        "a person has called the fire out: embers that nobody sees still boil a coil that stands.",
        PRACTICE, _share("retry_s"), _burnt_out),
    Requirement(
        "pump-let-go",
        "After water has stood over a fire for longer than any refill window, the pump is told "
        "off: a late start meets steam or red-hot metal.",
        PRACTICE, _share("window_s"), _pump_off),
    Requirement(
        "pump-off-before-steam",
        "Standing water never comes within 5 K of boiling while the pump is still told to run: "
        "from there on the coil may be dry.",
        PRACTICE, _constant(COMFORT_K), _pump_off_in_time),
    Requirement(
        "valve-over-stop",
        "With a fire in, the valve is never told under its stop: a shut valve makes steam.",
        PRACTICE, _constant(SLACK_STROKE), _valve),
    Requirement(
        "dump-steady",
        "Two ends of a dump are a minute apart: a dump that chatters wears out and hides a loop "
        "that does not cool. To open it is never delayed.",
        PRACTICE, _share("dump_least_s"), _dump),
)  # fmt: skip


class _Prepared(NamedTuple):
    name: str
    scale: float
    formula: Formula


@lru_cache(maxsize=8)
def prepared(bounds: Bounds) -> tuple[_Prepared, ...]:
    """All requirements of one loop, with the conditions that they share."""
    shared = Shared(bounds)
    return tuple(_Prepared(r.name, r.scale(shared), r.formula(shared)) for r in REQUIREMENTS)


@lru_cache(maxsize=8)
def _names(bounds: Bounds) -> frozenset[str]:
    return frozenset(name for p in prepared(bounds) for name in names_in(p.formula))


def robustness(signals: Signals, bounds: Bounds) -> dict[str, float]:
    """Each requirement's margin: 1.0 and more is comfortable, under 0 is broken, MOST at the most.

    Raises ValueError for signals that are empty, of different lengths, or NaN where one is needed.
    """
    recording = Recording(dict(zip(Signals._fields, signals, strict=True)))
    found = {
        name: min(formula.first(recording) / scale, MOST)
        for name, scale, formula in prepared(bounds)
    }
    for name in _names(bounds):
        recording.vouch(name)
    return found
