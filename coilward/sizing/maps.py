"""Safe and unsafe over heat x flow, and over heat x tank temperature."""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.states import ESTIMATE, LEAST_COOLING_W_K
from coilward.loop.sums.settle import Settled, effectiveness
from coilward.loop.trips import is_tub
from coilward.loop.water import heat_per_lpm_k

Zone = Literal["allowed", "too hot", "boils"]


class Point(NamedTuple):
    """One of the loop's own points; the tank is where this fire settles it."""

    mark: str
    words: str
    heat_w: float
    flow_lpm: float
    tank_c: float
    outlet_c: float
    zone: Zone


class Maps(NamedTuple):
    """Both maps: how far they reach, and the points on them."""

    most_w: float
    most_lpm: float
    flow_points: tuple[Point, ...]
    """Over heat and flow: where each settles."""
    tank_points: tuple[Point, ...]
    """Over heat and tank, valve open; the last before the tank follows the heat."""


BEYOND: Final = 1.6
"""How far a map reaches over the largest fire, and over the open flow."""


def limit_w(loop: Loop, derived: Derived, flow_lpm: float, outlet_c: float) -> float:
    """Heat that brings the settled outlet to a temperature at a flow, W.

    A tub does not settle: there it is the heat at its hottest water.
    """
    stream_w_k = flow_lpm * heat_per_lpm_k()
    if is_tub(loop):
        return stream_w_k * (outlet_c - derived.settled.largest.tank_c)
    on_w_k = max(loop.radiator.fans_on_w_k if loop.radiator else 0.0, LEAST_COOLING_W_K)
    return effectiveness(on_w_k, stream_w_k) * stream_w_k * (outlet_c - loop.room.air_c)


def tank_limit_c(derived: Derived, heat_w: float, outlet_c: float) -> float:
    """Tank at which a heat brings the outlet to a temperature with the valve open, degC."""
    return outlet_c - heat_w / (derived.flow_open_lpm * heat_per_lpm_k())


def zone_of(derived: Derived, outlet_c: float) -> Zone:
    """Where an outlet lies."""
    if outlet_c >= derived.coil_boil_c:
        return "boils"
    return "too hot" if outlet_c > derived.allow_c else "allowed"


def maps(loop: Loop, derived: Derived) -> Maps:
    """The reach of the maps, and the loop's own points on each."""
    found = derived.settled
    nominal_w, largest_w = 1e3 * loop.fire.nominal_kw, 1e3 * loop.fire.largest_kw
    stream_w_k = derived.flow_open_lpm * derived.water_w_per_lpm_k
    surge_c = found.largest.tank_c + ESTIMATE * largest_w / stream_w_k

    def point(mark: str, words: str, heat_w: float, at: Settled) -> Point:
        return Point(
            mark, words, heat_w, at.flow_lpm, at.tank_c, at.outlet_c,
            zone_of(derived, at.outlet_c),
        )  # fmt: skip

    nominal = point("N", "nominal fire", nominal_w, found.nominal)
    largest = point("L", "largest fire held", largest_w, found.largest)
    throttled = point("S", "nominal, at the set-point", nominal_w, found.throttled)
    surge = point(
        "Q", "a quarter over the largest", ESTIMATE * largest_w,
        found.largest._replace(outlet_c=surge_c),
    )  # fmt: skip
    same = math.isclose(found.throttled.flow_lpm, found.nominal.flow_lpm)
    return Maps(
        BEYOND * largest_w,
        BEYOND * derived.flow_open_lpm,
        (nominal, largest) if same else (nominal, largest, throttled),
        (nominal, largest, surge),
    )
