"""From readings to what can be relied on: range, outliers, votes, slopes.

One bad reading may stop; one good reading may never start. A channel that is not fitted
feeds nothing; a lost one is dropped from its vote; a vote without voters is NaN, and every
comparison downstream is written so that NaN trips.
"""

from __future__ import annotations

from typing import NamedTuple

from coilward.controller.constants import Constants
from coilward.controller.plausibility import OUTLET_A_FROZEN, OUTLET_B_FROZEN, TANK_FROZEN
from coilward.controller.state import Ages, Control, Mode, Watch
from coilward.controller.types import Readings

LOWEST_C, HIGHEST_C = -30.0, 130.0
"""Range of a water thermometer (common practice, no source)."""
POWER_ON_C = 85.0
"""What a one-wire digital thermometer reads before its first conversion (maker's data sheet)."""
BELIEVED_S = 2.0
"""An outlier that lasts is no outlier: a steam slug is real."""
TRUSTED_LPM = 1.0
"""Bottom of the range of the usual pulse meter (common practice, no source)."""
POSSIBLE_LPM = 500.0
"""No garden pump moves more; a larger number is no reading."""
INRUSH_S = 1.0
"""Pump current means nothing for so long after a start."""
FALL_K = 3.0
"""The radiator's outlet falls by this when the water stands and the fans run."""
FANS_SETTLED_S = 60.0
RADIATOR_OVER_ROOM_K = 10.0
RADIATOR_STILL_WARM_K = 5.0


class Seen(NamedTuple):
    """What one tick shows. Unknown temperatures are NaN; flags are never "maybe"."""

    outlet_c: float
    """The hotter of the outlet thermometers that can be believed."""
    outlet_a_ok: bool
    outlet_b_ok: bool
    outlet_a_c: float
    outlet_a_odd_s: float
    outlet_b_c: float
    outlet_b_odd_s: float
    slow_a_c: float
    slow_b_c: float
    rising_k: float
    """Outlet over its filter, the faster of both."""
    apart_k: float
    """Between two outlet thermometers that can both be believed, else 0."""
    tank_c: float
    tank_ok: bool
    flow_lpm: float
    transit_s: float
    """Of the water through the coil, at no less than the least flow that is trusted."""
    slow_lpm: float
    flow_good: bool
    flow_absent: bool
    """Known to be missing; a lost reading is neither good nor absent."""
    current_ok: bool
    current_bad: bool
    switch_on: bool
    switch_off: bool
    metal_c: float
    metal_rising: bool
    slow_metal_c: float
    metal_high: bool
    metal_clean: bool
    radiator_known: bool
    radiator_steady: bool
    """The radiator's outlet says that water moves."""
    radiator_fell: bool
    second_proof: bool
    """Flow switch or radiator says that water moves."""
    steady: bool
    """Flow has been even for long enough that flow times rise is heat."""


def in_range(reading_c: float) -> bool:
    """Whether a thermometer's value can be one; NaN can't."""
    return reading_c > LOWEST_C and reading_c < HIGHEST_C


def believe(
    reading_c: float, last_c: float, odd_s: float, jump_k: float, tick_s: float
) -> tuple[bool, float, float]:
    """One outlet thermometer: (believed, value last believed, how long it has been odd)."""
    if not in_range(reading_c):
        return False, last_c, 0.0
    if not in_range(last_c):
        if reading_c == POWER_ON_C:
            return False, last_c, 0.0
        return True, reading_c, 0.0
    if abs(reading_c - last_c) <= jump_k or odd_s >= BELIEVED_S:
        return True, reading_c, 0.0
    return False, last_c, odd_s + tick_s


def follow(slow: float, value: float, share: float) -> float:
    """First-order filter that starts at its first value, and takes a share of each that follows."""
    if slow != slow:
        return value
    if value != value:
        return slow
    return slow + (value - slow) * share


def sense(
    readings: Readings, suspects: int, mode: Mode, ages: Ages, watch: Watch, control: Control,
    constants: Constants,
) -> Seen:
    """All that one tick shows, from its readings and what the eyes remember.

    A reading that is suspected to be frozen is lost.
    """
    tick_s = constants.tick_s
    fitted = constants.fitted
    limits = constants.limits
    water = constants.water
    shares = constants.shares
    reckoned = constants.reckoned
    nan = float("nan")

    jump_k = 1e9 if watch.mute_s > 0.0 else limits.outlet_jump_k
    outlet_a_ok, outlet_a_c, outlet_a_odd_s = believe(
        readings.coil_outlet_a_c, watch.outlet_a_c, watch.outlet_a_odd_s, jump_k, tick_s
    )
    outlet_b_ok, outlet_b_c, outlet_b_odd_s = False, watch.outlet_b_c, watch.outlet_b_odd_s
    if fitted.outlet_b:
        outlet_b_ok, outlet_b_c, outlet_b_odd_s = believe(
            readings.coil_outlet_b_c, watch.outlet_b_c, watch.outlet_b_odd_s, jump_k, tick_s
        )
    if suspects & OUTLET_A_FROZEN:
        outlet_a_ok = False
    if suspects & OUTLET_B_FROZEN:
        outlet_b_ok = False
    outlet_c = nan
    rising_k = 0.0
    slow_a_c, slow_b_c = watch.slow_a_c, watch.slow_b_c
    if outlet_a_ok:
        outlet_c = outlet_a_c
        slow_a_c = follow(slow_a_c, outlet_a_c, shares.slope)
        rising_k = outlet_a_c - slow_a_c
    if outlet_b_ok:
        if not (outlet_c >= outlet_b_c):
            outlet_c = outlet_b_c
        slow_b_c = follow(slow_b_c, outlet_b_c, shares.slope)
        rising_b_k = outlet_b_c - slow_b_c
        if rising_b_k > rising_k:
            rising_k = rising_b_k
    apart_k = 0.0
    if outlet_a_ok and outlet_b_ok:
        apart_k = abs(outlet_a_c - outlet_b_c)

    radiator_c = readings.radiator_outlet_c
    radiator_known = fitted.radiator_outlet and in_range(radiator_c)
    tank_c = readings.tank_c
    tank_ok = in_range(tank_c) and suspects & TANK_FROZEN == 0
    if not tank_ok:
        tank_c = radiator_c + 2.0 if radiator_known else nan

    flow_lpm = readings.flow_lpm
    age_s = readings.pulse_age_s
    if age_s > 0.0:
        capped_lpm = water.lpm_s / age_s
        if capped_lpm < flow_lpm:
            flow_lpm = capped_lpm
    elif age_s != age_s:
        flow_lpm = nan
    if not (flow_lpm <= POSSIBLE_LPM):
        flow_lpm = nan
    flow_absent = flow_lpm < TRUSTED_LPM or age_s > water.pulse_timeout_s
    flow_good = flow_lpm == flow_lpm and not flow_absent
    transit_s = reckoned.coil_lpm_s / (flow_lpm if flow_good else TRUSTED_LPM)
    slow_lpm = follow(watch.slow_lpm, flow_lpm, tick_s / (reckoned.lag_and_tick_s + transit_s))
    steady = abs(flow_lpm - slow_lpm) <= 0.1 * flow_lpm

    pump_a = readings.pump_a
    settled = control.pump and watch.pump_on_s >= INRUSH_S and fitted.current
    power = constants.power
    current_bad = settled and (pump_a < power.pump_low_a or pump_a > power.pump_high_a)
    current_ok = settled and pump_a == pump_a and not current_bad
    switch = readings.flow_switch
    switch_off = fitted.switch and switch < 0.5
    switch_on = fitted.switch and switch == switch and not switch_off

    metal_c = readings.coil_metal_c if fitted.metal else nan
    slow_metal_c = follow(watch.slow_metal_c, metal_c, shares.metal)
    metal_high = metal_c > limits.metal_high_c
    metal_clean = not metal_high
    metal_rising = metal_c - slow_metal_c > 2.0 and metal_c > tank_c + 5.0

    radiator_fell, radiator_steady = False, False
    if radiator_known and watch.fans_on_s >= FANS_SETTLED_S:
        was_c, room_c = watch.radiator_was_c, readings.room_c
        if was_c - room_c >= RADIATOR_OVER_ROOM_K:
            radiator_fell = was_c - radiator_c >= FALL_K
            radiator_steady = ages.still_s >= water.rule13_s and not radiator_fell
        if mode.meter_dead and radiator_c - room_c >= RADIATOR_STILL_WARM_K:
            radiator_steady = True
    second_proof = switch_on or radiator_steady
    return Seen(
        outlet_c, outlet_a_ok, outlet_b_ok, outlet_a_c, outlet_a_odd_s, outlet_b_c,
        outlet_b_odd_s, slow_a_c, slow_b_c, rising_k, apart_k, tank_c, tank_ok, flow_lpm,
        transit_s, slow_lpm, flow_good, flow_absent, current_ok, current_bad, switch_on,
        switch_off, metal_c, metal_rising, slow_metal_c, metal_high, metal_clean,
        radiator_known, radiator_steady, radiator_fell, second_proof, steady,
    )
