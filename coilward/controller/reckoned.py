"""What every tick would reckon from the same constants, reckoned once for a loop.

Sums of constants alone are no work for a board: it is given their results, and each stands here
under a name with the share or the margin that makes it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from coilward.controller.constants import Limits, Power, Throttling, Truth, Valve, Water

SECOND_S = 1.0
"""Between two judgings of whether readings can be true."""
MISSED_TICKS = 2.5
SLOPE_S = 3.0
"""Time constant of the filter of the outlet, whose slope is watched."""
SPINS_SLOPE = 0.3
FANS_REST_K = 5.0
"""The outlet is to stay so far under its warning for the fans to rest."""
DUMP_COOLED_K, TANK_COOLED_K = 10.0, 5.0
SLUG_S = 10.0
DUMP_HELPS_S = 60.0
LEAST_HEAT_SHARE = 0.5
"""Of the largest heat: the minimum flow is never reckoned with less."""
WARM_SHARE = 0.6
HEALTHY_SHARE = 0.8
"""Of the open valve's flow."""
LOW_SUPPLY_SHARE, RESTING_SHARE = 11.3 / 12.0, 12.4 / 12.0
GUARD_RUN_S = 180.0
REST_SHARE = 0.1
"""Of the pump's least current: more is no rest."""
FANS_SHARE = 2.5
"""All fans over the least that a fan takes."""
WEAK_SHARE = 0.5
CURVE_LOW, CURVE_HIGH = 0.7, 1.35
ANSWER_S = 4.0
"""Time that the flow has to follow, beyond the valve's own travel."""
JUDGED_S = 2.5
"""An answer becomes the new reference only after the row has had its time to complain."""
VALVE_SETTLED_S = 5.0
LEAST_SLOPE_SHARE = 0.1
"""A curve is never taken for flatter than this share of its largest flow for a whole stroke."""
GAP_K, LOW_RISE_K = 2.0, 1.0
"""What outlet and radiator inlet, or outlet and tank, may differ by beyond their errors."""


class Reckoned(NamedTuple):
    """Results of sums that have only constants in them."""

    judged_late_s: float
    missed_s: float
    """A longer gap between two ticks has ticks missing in it."""
    outlet_rises_k: float
    """Outlet over its filter at the largest slope that is believed."""
    outlet_spins_k: float
    outlet_rests_c: float
    outlet_cooled_c: float
    tank_cooled_c: float
    boil_j_k: float
    """What heats the coil at its hottest place."""
    coil_lpm_s: float
    """Flow that fills the coil in a second."""
    lag_and_tick_s: float
    """Lag of the outlet's thermometer, and one tick."""
    slug_s: float
    dump_helps_s: float
    least_heat_w: float
    warm_k: float
    """Outlet over tank from which warm-up is over."""
    open_w_k: float
    """What the open valve's flow carries."""
    healthy_lpm: float
    supply_low_v: float
    supply_rests_v: float
    needs_v_lpm: float
    """Supply that a litre a minute needs."""
    guard_turn_s: float
    """The freeze guard's run and rest together."""
    pump_rests_a: float
    fans_least_a: float
    radiator_weak_w_k: float
    curve_low_v: float
    """Least share of the curve's flow, for each volt of the supply."""
    curve_high_v: float
    valve_answers_s: float
    valve_judged_s: float
    valve_settles_s: float
    least_slope_lpm: float
    reset_lag_s: float
    gap_k: float
    low_rise_k: float


def reckoned(
    tick_s: float, limits: Limits, water: Water, valve: Valve, throttling: Throttling,
    power: Power, truth: Truth,
) -> Reckoned:
    """All of them for one loop."""
    rises_k = SLOPE_S * limits.outlet_rate_k_s
    open_w_k = water.w_per_lpm_k * water.open_lpm
    return Reckoned(
        judged_late_s=SECOND_S + tick_s,
        missed_s=MISSED_TICKS * tick_s,
        outlet_rises_k=rises_k,
        outlet_spins_k=SPINS_SLOPE * rises_k,
        outlet_rests_c=limits.outlet_warn_c - FANS_REST_K,
        outlet_cooled_c=limits.outlet_dump_c - DUMP_COOLED_K,
        tank_cooled_c=limits.tank_trip_c - TANK_COOLED_K,
        boil_j_k=water.coil_j_k / water.peak_to_mean,
        coil_lpm_s=60.0 * water.coil_l,
        lag_and_tick_s=water.lag_s + tick_s,
        slug_s=SLUG_S + water.transit_s + 2.0 * water.lag_s,
        dump_helps_s=DUMP_HELPS_S + 2.0 * water.transit_s,
        least_heat_w=LEAST_HEAT_SHARE * water.heat_largest_w,
        warm_k=WARM_SHARE * water.heat_nominal_w / open_w_k,
        open_w_k=open_w_k,
        healthy_lpm=HEALTHY_SHARE * water.open_lpm,
        supply_low_v=LOW_SUPPLY_SHARE * power.rated_v,
        supply_rests_v=RESTING_SHARE * power.rated_v,
        needs_v_lpm=power.rated_v / water.open_lpm,
        guard_turn_s=GUARD_RUN_S + power.rest_s,
        pump_rests_a=REST_SHARE * power.pump_low_a,
        fans_least_a=FANS_SHARE * power.fan_low_a,
        radiator_weak_w_k=WEAK_SHARE * power.radiator_on_w_k,
        curve_low_v=CURVE_LOW / power.rated_v,
        curve_high_v=CURVE_HIGH / power.rated_v,
        valve_answers_s=valve.travel_s + ANSWER_S,
        valve_judged_s=valve.travel_s + ANSWER_S + JUDGED_S,
        valve_settles_s=valve.travel_s + VALVE_SETTLED_S,
        least_slope_lpm=LEAST_SLOPE_SHARE * water.open_lpm,
        reset_lag_s=throttling.reset_lags * water.lag_s,
        gap_k=GAP_K + truth.line_error_k,
        low_rise_k=LOW_RISE_K + truth.rise_error_k,
    )
