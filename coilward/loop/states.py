"""Where the loop settles in its usual states, and the time to boil from each of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from coilward.loop.hydraulics import coil_bore_m
from coilward.loop.model import Loop
from coilward.loop.sums import boil, film, flow, settle
from coilward.loop.sums.settle import Settled
from coilward.loop.trips import OutletLimits, is_tub, people_limit_c
from coilward.loop.water import heat_per_lpm_k

ESTIMATE = 1.25
"""The heat that is reckoned with, over the largest heat seen: rising fire and meter error."""
RESERVE = 1.15
"""Flow that the valve keeps, over the least flow."""
LEAST_COOLING_W_K = 0.1
TUB_BELOW_LIMIT_K = 1.0
"""A finished tub ends this far below the people limit."""


@dataclass(frozen=True)
class SettledStates:
    """Where the loop settles with the fire held, without losses of lines and tank (hot side).

    The valve is open, but for ``throttled``: nominal fire, valve at the set-point, its clamp or
    its stop.
    ``fans_off`` states are at the largest fire; None where the loop has no radiator (no dump).
    """

    nominal: Settled
    largest: Settled
    throttled: Settled
    fans_off: Settled | None
    fans_off_dump: Settled | None


class BoilTimes(NamedTuple):
    """Seconds from loss of flow to first boil; ``est`` with 1.25 times the heat."""

    uniform: float
    peaked: float
    uniform_est: float
    peaked_est: float


@dataclass(frozen=True)
class BoilStates:
    """Times to boil from each settled state."""

    nominal: BoilTimes
    largest: BoilTimes
    throttled: BoilTimes


def settled_states(
    loop: Loop,
    limits: OutletLimits,
    open_lpm: float,
    stop_lpm: float,
    least_lpm: float,
    tank_j_k: float,
) -> SettledStates:
    """All settled states of a loop that passes ``open_lpm`` with the valve open."""
    if is_tub(loop):
        return _tub_states(loop, open_lpm, tank_j_k)
    stream_w_k = open_lpm * heat_per_lpm_k()
    on_w_k = loop.radiator.fans_on_w_k if loop.radiator else 0.0
    off_w_k = loop.radiator.fans_off_w_k if loop.radiator else 0.0

    def at(heat_kw: float, conductance_w_k: float) -> Settled:
        # Something is always lost: with none at all there would be no end to tell.
        cooling_w_k = max(conductance_w_k, LEAST_COOLING_W_K)
        return settle.settled(
            1e3 * heat_kw, cooling_w_k, stream_w_k, loop.room.air_c, tank_j_k, open_lpm
        )

    nominal = at(loop.fire.nominal_kw, on_w_k)
    largest_kw = loop.fire.largest_kw
    return SettledStates(
        nominal=nominal,
        largest=at(largest_kw, on_w_k),
        throttled=_throttled(loop, limits, nominal, stop_lpm, least_lpm, tank_j_k),
        fans_off=at(largest_kw, off_w_k),
        fans_off_dump=at(largest_kw, off_w_k + loop.dump.conductance_w_k) if loop.dump else None,
    )


def _tub_states(loop: Loop, open_lpm: float, tank_j_k: float) -> SettledStates:
    """A tub does not settle below boiling; it is finished, and judged at its hottest."""
    tank_c = people_limit_c(loop) - TUB_BELOW_LIMIT_K
    tau_s = tank_j_k / loop.tank.loss_w_k if loop.tank.loss_w_k > 0 else math.inf
    nominal, largest = (
        Settled(tank_c + 1e3 * heat_kw / (open_lpm * heat_per_lpm_k()), tank_c, tau_s, open_lpm)
        for heat_kw in (loop.fire.nominal_kw, loop.fire.largest_kw)
    )
    return SettledStates(nominal, largest, nominal, None, None)


def _throttled(
    loop: Loop,
    limits: OutletLimits,
    opened: Settled,
    stop_lpm: float,
    least_lpm: float,
    tank_j_k: float,
) -> Settled:
    """Nominal fire with the valve holding the set-point, or at its clamp or stop."""
    if loop.radiator is None or opened.outlet_c >= limits.set_point_c:
        return opened
    heat_w, conductance_w_k = 1e3 * loop.fire.nominal_kw, loop.radiator.fans_on_w_k
    wanted_w_k = settle.stream_for_outlet_w_k(
        heat_w,
        conductance_w_k,
        loop.room.air_c,
        limits.set_point_c,
        opened.flow_lpm * heat_per_lpm_k(),
    )
    tank_c = limits.set_point_c - heat_w / wanted_w_k
    clamp_lpm = RESERVE * min_flow_lpm(heat_w, limits.allow_c, tank_c, least_lpm)
    flow_lpm = min(max(wanted_w_k / heat_per_lpm_k(), clamp_lpm, stop_lpm), opened.flow_lpm)
    stream_w_k = flow_lpm * heat_per_lpm_k()
    return settle.settled(
        heat_w, conductance_w_k, stream_w_k, loop.room.air_c, tank_j_k, flow_lpm
    )


def min_flow_lpm(heat_w: float, allow_c: float, tank_c: float, least_lpm: float) -> float:
    """Minimum flow for a heat, reckoned with 1.25 times of it, and never under the least flow."""
    return max(flow.least_flow_lpm(ESTIMATE * heat_w, allow_c, tank_c), least_lpm)


def boil_states(
    loop: Loop, states: SettledStates, coil_j_k: float, boil_c: float
) -> BoilStates:
    """Times to boil: uniform and peaked flux, with the heat and with 1.25 times of it."""

    def times(state: Settled, heat_kw: float) -> BoilTimes:
        return BoilTimes(
            *(
                boil.time_to_boil_s(coil_j_k, boil_c, state.outlet_c, factor * 1e3 * heat_kw, flux)
                for factor in (1.0, ESTIMATE)
                for flux in (1.0, loop.coil.peak_to_mean)
            )
        )

    nominal_kw = loop.fire.nominal_kw
    return BoilStates(
        nominal=times(states.nominal, nominal_kw),
        largest=times(states.largest, loop.fire.largest_kw),
        throttled=times(states.throttled, nominal_kw),
    )


def film_ratio(
    loop: Loop, state: Settled, heat_kw: float, boil_c: float, coil_j_k: float, copper_kg: float
) -> float:
    """What the wall's film makes of the time to boil, as a factor, at the peaked flux."""
    if not state.outlet_c < boil_c:
        return 1.0
    bore_m = coil_bore_m(loop.coil)
    area_m2 = film.inner_area_m2(loop.coil.length_m, bore_m)
    flux_w_m2 = loop.coil.peak_to_mean * 1e3 * heat_kw / area_m2
    flowing_k = flux_w_m2 / film.flowing_w_m2_k(state.flow_lpm, bore_m, state.outlet_c)
    still_k = film.still_film_k(flux_w_m2, bore_m, (state.outlet_c + boil_c) / 2)
    return boil.film_ratio(copper_kg, coil_j_k, boil_c - state.outlet_c, flowing_k, still_k)
