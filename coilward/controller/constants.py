"""The numbers that the logic runs on: derived from one loop, never typed.

`constants_for` is the only way in. Every limit comes from `coilward.loop.derived`, which
lets a typed limit move a derived one to the safer side only.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from coilward.controller.debounce import Counters, threshold_planes
from coilward.controller.interlocks import ROWS, Derivable
from coilward.controller.reckoned import SLOPE_S, Reckoned, reckoned
from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.sums import freeze
from coilward.loop.sums.swing import move_every_s
from coilward.loop.trips import outlet_error_k

ROOM_PEOPLE_C, TUB_PEOPLE_C = 40.0, 41.0
"""Common practice, no source."""
METAL_LAG_S = 60.0
"""Time constant of the filter of the metal."""


Curve = tuple[float, float, float, float, float, float, float, float, float]
Slopes = tuple[float, float, float, float, float, float, float, float]


class Limits(NamedTuple):
    """Temperatures in degrees Celsius."""

    boil_c: float
    allow_c: float
    set_point_c: float
    outlet_warn_c: float
    outlet_dump_c: float
    outlet_hh_c: float
    outlet_rate_k_s: float
    outlet_jump_k: float
    """A step between two samples beyond this is an outlier until it has lasted."""
    tank_warn_c: float
    tank_trip_c: float
    tank_hh_c: float
    tank_finish_c: float
    metal_high_c: float
    metal_dry_c: float
    not_over_c: float
    """Room temperature above which the fans may rest."""
    people_c: float
    """What people bear: of the tub's water, else of the room's air."""


class Water(NamedTuple):
    """Flows in litres a minute, heats in watts."""

    w_per_lpm_k: float
    """Heat that one litre a minute carries per kelvin."""
    coil_j_k: float
    coil_l: float
    transit_s: float
    """Through the coil, at the flow of the open valve."""
    peak_to_mean: float
    heat_nominal_w: float
    heat_largest_w: float
    least_lpm: float
    open_lpm: float
    stop_lpm: float
    min_at_stop_lpm: float
    """What the valve's stop has to pass before a fire may be lit."""
    lpm_s: float
    """Flow at one pulse a second."""
    pulse_timeout_s: float
    window_cap_s: float
    """A typed refill window may only shorten the derived one."""
    rule13_s: float
    retries: float
    lag_s: float


class Valve(NamedTuple):
    """Strokes are shares of full travel; the curve holds nine flows at strokes 0 to 1."""

    stop: float
    travel_s: float
    backlash: float
    curve_lpm: Curve
    slope_lpm: Slopes
    """From each flow to the next, for a whole stroke."""
    foot_lpm: Slopes
    """Where the line from each flow to the next would stand at no stroke."""
    always_open: bool


class Throttling(NamedTuple):
    """The valve's PI rule: what is multiplied with the flow, the coil's transit and the lag."""

    every_s: float
    """Time between two moves."""
    gain: float
    gain_slope: float
    reset_transits: float
    reset_lags: float
    dead_band_k: float
    flow_band: float


class Power(NamedTuple):
    """Amperes and volts."""

    pump_low_a: float
    pump_high_a: float
    fan_low_a: float
    rated_v: float
    rest_s: float
    """Longest pump rest of the freeze guard."""
    radiator_on_w_k: float


class Fitted(NamedTuple):
    """Which channels exist. One that does not exist feeds no fact."""

    outlet_b: bool
    radiator: bool
    radiator_inlet: bool
    radiator_outlet: bool
    metal: bool
    flue: bool
    room: bool
    line: bool
    switch: bool
    current: bool
    level: bool
    fan_current: bool
    damper_switch: bool
    co: bool
    smoke: bool
    vent: bool
    tub: bool
    """People sit in the tank."""


class Truth(NamedTuple):
    """What readings are held against each other with. Errors are those that the file states."""

    hot_w_k: float
    """What the hot line loses to the air around it, W/K."""
    hot_air_c: float
    """That air at its coldest."""
    line_error_k: float
    """Of an outlet thermometer and the radiator's inlet together."""
    rise_error_k: float
    """Of an outlet thermometer and the tank's together."""
    neighbour_moves_k: float
    """A neighbour that has moved by this should have moved a working outlet thermometer."""
    tank_fidgets: bool
    """The tank thermometer's own noise moves it through its quantum."""


class Shares(NamedTuple):
    """What a filter takes of a new reading in a tick."""

    slope: float
    metal: float


class Constants(NamedTuple):
    """Everything that `decide` knows of the loop."""

    tick_s: float
    thresholds: Counters
    """Debounce of every interlock row in ticks, as bit planes."""
    limits: Limits
    water: Water
    valve: Valve
    throttling: Throttling
    power: Power
    fitted: Fitted
    truth: Truth
    shares: Shares
    reckoned: Reckoned
    checksum: int


def debounce_s(row_debounce: float | Derivable, derived: Derived) -> float:
    """Seconds of one row: a number of the table, or one derived from the loop."""
    if isinstance(row_debounce, str):
        return float(getattr(derived, row_debounce))
    return row_debounce


FIDGETS = 0.4
"""Noise over quantum from which a reading does not stay the same for minutes."""


def share_of(lag_s: float, step_s: float) -> float:
    """What a first-order filter of this lag takes of a new value, one step after the last."""
    return step_s / (lag_s + step_s)


def lines_of(curve_lpm: Sequence[float]) -> tuple[Slopes, Slopes]:
    """Slopes and feet of the straight lines between the nine flows of a curve."""
    d = [8.0 * (after - before) for before, after in pairwise(curve_lpm)]
    f = [curve_lpm[index] - 0.125 * index * slope for index, slope in enumerate(d)]
    return (
        (d[0], d[1], d[2], d[3], d[4], d[5], d[6], d[7]),
        (f[0], f[1], f[2], f[3], f[4], f[5], f[6], f[7]),
    )


def truth_of(loop: Loop) -> Truth:
    """What the loop file says about how well its readings should agree."""
    sensors, hot = loop.sensors, loop.lines.hot
    resistance_mk_w = freeze.resistance_mk_w(
        hot.inside_diameter_mm, hot.outside_diameter_mm, hot.wall_w_mk, hot.insulation_mm,
        hot.insulation_w_mk, hot.wind_w_m2k,
    )
    outlet_k = outlet_error_k(loop)
    inlet_k = sensors.radiator_inlet.error_k if sensors.radiator_inlet else 0.0
    pair = (sensors.coil_outlet_a, sensors.coil_outlet_b)
    quantum_k = max(sensor.quantum_k for sensor in pair if sensor is not None)
    return Truth(
        hot_w_k=hot.length_m / resistance_mk_w,
        hot_air_c=loop.site.outdoor_c if hot.outdoors else loop.room.air_c,
        line_error_k=math.hypot(outlet_k, inlet_k),
        rise_error_k=math.hypot(outlet_k, sensors.tank.error_k),
        neighbour_moves_k=max(2.0, 2.0 * quantum_k),
        tank_fidgets=sensors.tank.noise_k >= FIDGETS * sensors.tank.quantum_k > 0.0,
    )


def constants_for(loop: Loop, derived: Derived) -> Constants:
    """All constants of one loop, with a checksum over them."""
    sensors = loop.sensors
    has_radiator = loop.radiator is not None
    thresholds = threshold_planes(
        [
            max(1, math.ceil(debounce_s(row.debounce_s, derived) / loop.tick_s - 1e-9))
            for row in ROWS
        ]
    )
    tub = loop.room.kind == "tub"
    people_c = loop.room.people_limit_c
    if people_c is None:
        people_c = TUB_PEOPLE_C if tub else ROOM_PEOPLE_C
    limits = Limits(
        boil_c=derived.coil_boil_c,
        allow_c=derived.allow_c,
        set_point_c=derived.set_point_c,
        outlet_warn_c=derived.outlet_warn_c,
        outlet_dump_c=derived.outlet_dump_c,
        outlet_hh_c=derived.outlet_hh_c,
        outlet_rate_k_s=derived.outlet_rate_limit_k_s,
        outlet_jump_k=1.5 * derived.outlet_rate_limit_k_s + 2.5,
        tank_warn_c=derived.tank_warn_c,
        tank_trip_c=derived.tank_trip_c,
        tank_hh_c=derived.tank_hh_c,
        tank_finish_c=derived.tank_finish_c,
        metal_high_c=derived.metal_high_c,
        metal_dry_c=derived.metal_dry_c,
        not_over_c=math.inf if loop.room.not_over_c is None else loop.room.not_over_c,
        people_c=people_c,
    )
    typed_window_s = loop.limits.refill_window_s
    water = Water(
        w_per_lpm_k=derived.water_w_per_lpm_k,
        coil_j_k=derived.coil_heat_j_k,
        coil_l=derived.coil_water_l,
        transit_s=60.0 * derived.coil_water_l / derived.flow_open_lpm,
        peak_to_mean=loop.coil.peak_to_mean,
        heat_nominal_w=1000.0 * loop.fire.nominal_kw,
        heat_largest_w=1000.0 * loop.fire.largest_kw,
        least_lpm=derived.flow_least_lpm,
        open_lpm=derived.flow_open_lpm,
        stop_lpm=derived.flow_stop_lpm,
        min_at_stop_lpm=derived.flow_min_throttled_lpm,
        lpm_s=60.0 / loop.meter.pulses_per_litre,
        pulse_timeout_s=derived.pulse_timeout_s,
        window_cap_s=math.inf if typed_window_s is None else typed_window_s,
        rule13_s=derived.rule13_s,
        retries=float(derived.retries),
        lag_s=sensors.coil_outlet_a.lag_s,
    )
    c = derived.valve_curve
    slope_lpm, foot_lpm = lines_of(c)
    valve = Valve(
        stop=loop.valve.stop,
        travel_s=loop.valve.travel_s,
        backlash=loop.valve.backlash,
        curve_lpm=(c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8]),
        slope_lpm=slope_lpm,
        foot_lpm=foot_lpm,
        always_open=tub,
    )
    throttling = Throttling(
        every_s=move_every_s(loop.valve.travel_s),
        gain=loop.throttle.gain,
        gain_slope=loop.throttle.gain_slope,
        reset_transits=loop.throttle.reset_transits,
        reset_lags=loop.throttle.reset_lags,
        dead_band_k=loop.throttle.dead_band_k,
        flow_band=loop.throttle.flow_band,
    )
    power = Power(
        pump_low_a=loop.pump.current_low_a,
        pump_high_a=loop.pump.current_high_a,
        fan_low_a=0.3 * loop.radiator.fan_current_a if loop.radiator else 0.0,
        rated_v=loop.pump.voltage_v,
        rest_s=derived.pump_rest_s,
        radiator_on_w_k=loop.radiator.fans_on_w_k if loop.radiator else 0.0,
    )
    fitted = Fitted(
        outlet_b=sensors.coil_outlet_b is not None,
        radiator=has_radiator,
        radiator_inlet=has_radiator and sensors.radiator_inlet is not None,
        radiator_outlet=has_radiator and sensors.radiator_outlet is not None,
        metal=sensors.coil_metal is not None,
        flue=sensors.flue is not None,
        room=sensors.room is not None,
        line=sensors.line is not None,
        switch=sensors.flow_switch,
        current=sensors.pump_current,
        level=sensors.level,
        fan_current=has_radiator and sensors.fan_current,
        damper_switch=sensors.damper_switch,
        co=sensors.co,
        smoke=sensors.smoke,
        vent=sensors.vent_drip,
        tub=tub,
    )
    truth = truth_of(loop)
    shares = Shares(share_of(SLOPE_S, loop.tick_s), share_of(METAL_LAG_S, loop.tick_s))
    sums = reckoned(loop.tick_s, limits, water, valve, throttling, power, truth)
    parts = (
        loop.tick_s, thresholds, limits, water, valve, throttling, power, fitted, truth, shares,
        sums,
    )  # fmt: skip
    checksum = zlib.crc32(repr(parts).encode())
    return Constants(
        tick_s=loop.tick_s,
        thresholds=thresholds,
        limits=limits,
        water=water,
        valve=valve,
        throttling=throttling,
        power=power,
        fitted=fitted,
        truth=truth,
        shares=shares,
        reckoned=sums,
        checksum=checksum,
    )
