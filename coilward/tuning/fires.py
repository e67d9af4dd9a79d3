"""Fires to try the valve with: a heat, and a cooling that leaves it to the valve."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from coilward.controller.reckoned import LEAST_HEAT_SHARE, WEAK_SHARE
from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.states import ESTIMATE, RESERVE, min_flow_lpm
from coilward.loop.sums.settle import stream_for_outlet_w_k
from coilward.simulator import slots as at
from coilward.simulator.bench import Bench, Start
from coilward.simulator.engine import floats
from coilward.simulator.parameters import parameters, running

SURGE: Final = 1.3
"""Heat after a reload of lively wood over the heat before (common practice, no source)."""
NOT_WEAK: Final = 1.25
"""Over what the board takes for a radiator whose fans are lost."""
FLOWS: Final = 60


class Fire(NamedTuple):
    """A fire to try, and how well the loop is cooled meanwhile."""

    heat_w: float
    """Before the surge."""
    cooling: float
    """Share of the radiator's conductance that is there: dust, a warm room, a fan that stands."""
    tank_c: float
    """Where the tank settles with both while the outlet is at its set-point."""


def fires(loop: Loop, derived: Derived) -> list[Fire]:
    """Three heats from which a surge leads no further than the largest fire: small, usual, large.

    Each with as much of the radiator as leaves the valve to hold it. With the whole radiator the
    tank of many a loop is so cold that the clamp of the minimum flow holds every fire.
    """
    nominal_w, most_w = 1e3 * loop.fire.nominal_kw, 1e3 * loop.fire.largest_kw / SURGE
    heats_w = (0.7 * min(nominal_w, most_w), min(nominal_w, most_w), most_w)
    return [fire_at(each, loop, derived) for each in heats_w]


def fire_at(heat_w: float, loop: Loop, derived: Derived) -> Fire:
    """A fire with the largest share of the radiator that leaves it to the valve, surge and all.

    With the surge it asks for a flow midway between the clamp's and that of the open valve. The
    whole radiator where even that leaves the outlet too hot. Raises ValueError for a loop without
    one.
    """
    if loop.radiator is None:
        raise ValueError("a loop without a radiator has no fire that its valve could hold")
    whole_w_k, air_c, set_c = loop.radiator.fans_on_w_k, loop.room.air_c, derived.set_point_c
    lost_w = losses(loop, derived)
    reckoned_w = max(heat_w, LEAST_HEAT_SHARE * 1e3 * loop.fire.largest_kw / ESTIMATE)
    litre_w_k = derived.water_w_per_lpm_k
    flow_lpm, share = derived.flow_open_lpm, 1.0
    for tried_lpm in np.geomspace(derived.flow_least_lpm, derived.flow_open_lpm, FLOWS):
        stream_w_k = litre_w_k * float(tried_lpm)
        tank_c = set_c - heat_w / stream_w_k
        least_lpm = RESERVE * min_flow_lpm(
            reckoned_w, derived.allow_c, tank_c, derived.flow_least_lpm
        )
        clamp_lpm = max(least_lpm, derived.flow_stop_lpm)
        if SURGE * tried_lpm >= math.sqrt(clamp_lpm * derived.flow_open_lpm) and tank_c > air_c:
            left_w = max(heat_w - lost_w(tank_c), 0.0)
            needed_w_k = -stream_w_k * math.log1p(-left_w / (stream_w_k * (set_c - air_c)))
            units = whole_w_k / stream_w_k
            flow_lpm = float(tried_lpm)
            share = min(max(needed_w_k / whole_w_k, unsuspected(units)), 1.0)
            break
    if share == 1.0:
        most_w_k = litre_w_k * derived.flow_open_lpm
        flow_lpm = stream_for_outlet_w_k(heat_w, whole_w_k, air_c, set_c, most_w_k) / litre_w_k
    return Fire(heat_w, share, set_c - heat_w / (litre_w_k * flow_lpm))


def unsuspected(units: float) -> float:
    """The least share of a radiator with so many transfer units that isn't taken for lost fans."""
    return -math.log1p(-NOT_WEAK * WEAK_SHARE * units / (1.0 + units)) / units


def losses(loop: Loop, derived: Derived) -> Callable[[float], float]:
    """What lines and tank give away, W, with the outlet at its set-point, by the tank's degC."""
    p = parameters(loop, derived, loop.site.outdoor_c)
    air_c, set_c = loop.room.air_c, derived.set_point_c
    hot_c, cold_c, back_c = (
        loop.site.outdoor_c if p[out] > 0.0 else air_c
        for out in (at.HOT_OUT, at.COLD_OUT, at.BACK_OUT)
    )
    hot_w_k = at.LINE_CELLS * p[at.HOT_W_K] + p[at.STUB_W_K]
    cold_w_k, back_w_k = (at.LINE_CELLS * p[each] for each in (at.COLD_W_K, at.BACK_W_K))

    def lost_w(tank_c: float) -> float:
        return (
            hot_w_k * (set_c - hot_c) + cold_w_k * (tank_c - cold_c)
            + back_w_k * (tank_c - back_c) + p[at.TANK_W_K] * (tank_c - air_c)
        )  # fmt: skip

    return lost_w


def settled_at(fire: Fire, bench: Bench, start: Start) -> Start:
    """The start with this fire held, and the water everywhere as warm as goes with it."""
    start.p[at.FANS_ON_W_K] *= fire.cooling
    settled = bench.derived.settled
    here = settled.throttled._replace(tank_c=fire.tank_c, outlet_c=bench.derived.set_point_c)
    derived = replace(bench.derived, settled=replace(settled, throttled=here))
    y = running(bench.loop, derived, list(start.p))
    y[at.HOLD_W] = fire.heat_w
    return start._replace(y=floats(bench.engine, y))
