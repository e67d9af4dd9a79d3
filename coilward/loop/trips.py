"""Boiling, allowed temperature and the trips below it: each follows from the loop as built."""

from __future__ import annotations

import math
from typing import NamedTuple

from coilward.loop.model import Loop
from coilward.loop.sums import boil, settle
from coilward.loop.water import boiling_c, lifted_boiling_c

HOT_SPOT_K, SENSOR_K, SURGE_K, SPARE_K = 5.0, 1.5, 3.5, 5.0
"""What stands between boiling and the allowed temperature: 15 K together."""
RELOAD_S = 60.0
"""A reload brings the fire from nominal to largest in this time."""
DUMP_DEBOUNCE_S = 2.0
SET_POINT_C = 65.0
"""Keeps the coil dry outside: flue gas dews below about 55 degC (common practice, no source)."""
PEOPLE_LIMIT_C = 41.0
"""Hottest tub for people; a loop file may only lower it."""
METAL_DRY_C = 150.0


def safer_low(derived: float, typed: float | None) -> float:
    """The derived number, or a lower typed one."""
    return derived if typed is None else min(derived, typed)


def safer_high(derived: float, typed: float | None) -> float:
    """The derived number, or a higher typed one."""
    return derived if typed is None else max(derived, typed)


def is_tub(loop: Loop) -> bool:
    """Whether the tank is a tub with people in it."""
    return loop.room.kind == "tub"


def people_limit_c(loop: Loop) -> float:
    """Hottest water for people in a tub, degC."""
    return safer_low(PEOPLE_LIMIT_C, loop.room.people_limit_c)


def outlet_error_k(loop: Loop) -> float:
    """Largest stated error of the fitted outlet thermometers, K; never under the usual 1.5 K."""
    pair = (loop.sensors.coil_outlet_a, loop.sensors.coil_outlet_b)
    return max(SENSOR_K, *(sensor.error_k for sensor in pair if sensor is not None))


def outlet_react_s(loop: Loop) -> float:
    """From a hot outlet to an open valve, s: the slowest sensor, debounce, tick, travel."""
    pair = (loop.sensors.coil_outlet_a, loop.sensors.coil_outlet_b)
    lag_s = max(sensor.lag_s for sensor in pair if sensor is not None)
    return lag_s + DUMP_DEBOUNCE_S + loop.tick_s + loop.valve.travel_s


class OutletLimits(NamedTuple):
    """Boiling and the limits of the coil's outlet, degC."""

    boil_c: float
    coil_boil_c: float
    allow_c: float
    set_point_c: float
    warn_c: float
    dump_c: float
    hh_c: float


def outlet_limits(loop: Loop, stream_w_k: float) -> OutletLimits:
    """Limits of the outlet for a loop whose open valve passes ``stream_w_k``."""
    typed, heights, fire = loop.limits, loop.layout.heights, loop.fire
    altitude_m = loop.site.altitude_m
    coil_boil_c = lifted_boiling_c(altitude_m, heights.coil_top_m - heights.tank_water_m)
    error_k = outlet_error_k(loop)
    allow_c = safer_low(coil_boil_c - HOT_SPOT_K - error_k - SURGE_K - SPARE_K, typed.allowed_c)
    slope_k_s = boil.surge_k_s(1e3 * fire.nominal_kw, 1e3 * fire.largest_kw, RELOAD_S, stream_w_k)
    latest_c = boil.latest_trip_c(
        coil_boil_c - HOT_SPOT_K, error_k, slope_k_s, outlet_react_s(loop)
    )
    hh_c = safer_low(min(coil_boil_c - 10, latest_c), typed.outlet_high_high_c)
    hose_c = math.inf if typed.hose_rated_c is None else typed.hose_rated_c
    # A dump above the latching trip would never be tried: it keeps 5 K below it.
    dump_c = safer_low(min(allow_c - 4, hose_c - 5, hh_c - 5), typed.outlet_dump_c)
    warn_c = safer_low(dump_c - 5, typed.outlet_warn_c)
    set_point_c = safer_low(min(SET_POINT_C, warn_c - 5), typed.set_point_c)
    return OutletLimits(
        boiling_c(altitude_m), coil_boil_c, allow_c, set_point_c, warn_c, dump_c, hh_c
    )


class TankLimits(NamedTuple):
    """Limits of the tank, degC; a room's tank is never finished."""

    warn_c: float
    trip_c: float
    hh_c: float
    finish_c: float


def tank_limits(loop: Loop, allow_c: float, stream_w_k: float, tank_j_k: float) -> TankLimits:
    """The tank may be so hot that the largest fire still leaves the outlet at the allowed."""
    typed = loop.limits
    largest_w = 1e3 * loop.fire.largest_kw
    trip_c = min(allow_c - largest_w / stream_w_k, loop.pump.rated_c - 5, loop.tank.rated_c - 5)
    if is_tub(loop):
        return _tub_limits(loop, trip_c, tank_j_k)
    # The latching trip keeps 5 K above the other; where it is typed low, both go down.
    typed_hh_c = math.inf if typed.tank_high_high_c is None else typed.tank_high_high_c
    trip_c = safer_low(min(trip_c, typed_hh_c - 5), typed.tank_trip_c)
    return TankLimits(
        warn_c=safer_low(trip_c - 5, typed.tank_warn_c),
        trip_c=trip_c,
        hh_c=min(trip_c + 8, typed_hh_c),
        finish_c=math.inf,
    )


def _tub_limits(loop: Loop, trip_c: float, tank_j_k: float) -> TankLimits:
    """People bound a tub; the fire is finished so early that its rest can't pass the limit."""
    typed = loop.limits
    trip_c = safer_low(min(trip_c, people_limit_c(loop)), typed.tank_trip_c)
    rest_k = settle.rise_without_removal_k(
        1e3 * loop.fire.largest_kw, 60 * loop.fire.decay_min, tank_j_k
    )
    return TankLimits(
        warn_c=safer_low(trip_c - 0.5, typed.tank_warn_c),
        trip_c=trip_c,
        hh_c=safer_low(trip_c + 2, typed.tank_high_high_c),
        finish_c=trip_c - rest_k,
    )
