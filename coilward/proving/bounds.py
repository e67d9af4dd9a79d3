"""The numbers of one loop that the requirements need, and what each allows for.

A requirement judges what is true, and the logic only sees what thermometers and meter tell it.
Each bound therefore leaves room for the loop's own stated errors and lags, and for nothing else.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from coilward.controller.acting import RETRY_EVERY_S, RETRY_OFF_S
from coilward.controller.constants import Constants
from coilward.controller.decide import SILENCE_S
from coilward.controller.interlocks import INDEX, ROWS
from coilward.controller.reckoned import SLUG_S
from coilward.loop.derived import METER_FLOOR_LPM, Derived
from coilward.loop.model import Loop
from coilward.loop.trips import HOT_SPOT_K, SENSOR_K, outlet_error_k

JOINT_C = 121.0
"""Soft solder's general limit, 250 degF (Copper Tube Handbook, table of joint pressures)."""
FIRE_RISE_K = 2.0
"""A rise over moving water that shows a fire (common practice, no source). Less may be hidden:
the rule for a fire that is out allows 1 K, and thermometers may differ by 1 K after a check."""
METER_SHARE = 0.9
"""A meter is taken to read up to a tenth too much, or too little, at its lowest flow."""
LAGS = 3.0
"""After so many lags a thermometer has shown 95 % of a step: of 30 K, all but LATE_K."""
LATE_K = 1.5
CONVERSION_S = 1.0
"""A digital thermometer answers once a second."""
BOOT_S = 3.0
"""A board that has just started may wait so long before it knows what moves."""
EMBERS_S = 900.0
"""No fire counts as out before it has given no heat for so long (common practice, no source)."""
DUMP_LEAST_S = 60.0
"""Two ends of a dump are at least so far apart."""


class Bounds(NamedTuple):
    """Numbers of one loop; the unit is the last word of the name."""

    tick_s: float
    water_limit_c: float
    """Boiling in the coil, less what hot spots need."""
    joint_limit_c: float
    outlet_hot_c: float
    """True outlet that its thermometers can't but show as over the trip."""
    tank_hot_c: float
    """True water at the pump's suction that its thermometer can't but show as over the trip."""
    moves_lpm: float
    """True flow that the meter can't but show as over its floor."""
    still_lpm: float
    """True flow that the meter can't but show as under its floor."""
    fire_w: float
    """Heat into the coil from which a fire counts as in."""
    valve_stop: float
    has_dump: bool
    no_flow_s: float
    outlet_s: float
    tank_s: float
    """From a true cause to the answer, at the longest."""
    slug_s: float
    """After a restart the outlet's dump trip is muted for so long: a hot slug passes."""
    retry_s: float
    """A pump may be told off for so long to shake it loose."""
    outlet_dump_c: float
    outlet_hh_c: float
    tank_trip_c: float
    tank_hh_c: float
    """What the rows for outlet and tank compare their readings with."""
    embers_s: float
    """After the fire's last heat the pump runs on for at least so long."""
    window_s: float
    """Longest refill window that any heat and any temperature can give."""
    silence_s: float
    boot_s: float
    dump_least_s: float


def bounds_of(loop: Loop, derived: Derived, constants: Constants) -> Bounds:
    """The bounds of one loop; ValueError for a loop without an outlet or a tank thermometer."""
    sensors, water = loop.sensors, constants.water
    outlets = [s for s in (sensors.coil_outlet_a, sensors.coil_outlet_b) if s is not None]
    if not outlets or sensors.tank is None:
        raise ValueError("the requirements need a thermometer at the outlet and one in the tank")
    outlet_lag_s, tank_lag_s = max(s.lag_s for s in outlets), sensors.tank.lag_s
    tank_error_k = max(SENSOR_K, sensors.tank.error_k)
    heat_w_k = water.w_per_lpm_k * water.open_lpm
    # Water at freezing, heat at the least that is reckoned with: half the largest.
    slowest_s = water.coil_j_k * derived.coil_boil_c / (water.peak_to_mean * water.heat_largest_w)
    return Bounds(
        tick_s=loop.tick_s,
        water_limit_c=derived.coil_boil_c - HOT_SPOT_K,
        joint_limit_c=JOINT_C,
        outlet_hot_c=derived.outlet_dump_c + outlet_error_k(loop) + LATE_K,
        tank_hot_c=derived.tank_trip_c + tank_error_k + LATE_K,
        moves_lpm=METER_FLOOR_LPM / METER_SHARE,
        still_lpm=METER_SHARE * METER_FLOOR_LPM,
        fire_w=FIRE_RISE_K * heat_w_k,
        valve_stop=loop.valve.stop,
        has_dump=loop.dump is not None,
        no_flow_s=derived.low_flow_total_s,
        outlet_s=LAGS * outlet_lag_s + CONVERSION_S + row_limit_s("C03"),
        tank_s=LAGS * tank_lag_s + CONVERSION_S + row_limit_s("C05"),
        slug_s=SLUG_S + 60.0 * water.coil_l / METER_FLOOR_LPM + 2.0 * outlet_lag_s,
        retry_s=RETRY_OFF_S + loop.tick_s,
        outlet_dump_c=derived.outlet_dump_c,
        outlet_hh_c=derived.outlet_hh_c,
        tank_trip_c=derived.tank_trip_c,
        tank_hh_c=derived.tank_hh_c,
        embers_s=EMBERS_S,
        window_s=min(slowest_s, water.window_cap_s) + derived.low_flow_total_s + RETRY_EVERY_S,
        silence_s=SILENCE_S,
        boot_s=BOOT_S,
        dump_least_s=DUMP_LEAST_S,
    )


def row_limit_s(name: str) -> float:
    """The longest time that a row of the cause-and-effect table allows itself, s.

    Raises ValueError for one whose limit follows from the loop.
    """
    limit_s = ROWS[INDEX[name]].limit_s
    if isinstance(limit_s, str):
        raise ValueError(f"the limit of {name} follows from the loop and stands in no row")
    return limit_s


def samples(duration_s: float, tick_s: float) -> int:
    """Whole ticks in a duration; at least one, in which a board can answer."""
    return max(1, math.floor(duration_s / tick_s + 1e-9))
