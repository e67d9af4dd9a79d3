"""What the board is told: thermometers with lag, offset, noise and quantum; pulses; switches."""

from __future__ import annotations

import math

from coilward.controller.types import Readings
from coilward.simulator.actuators import pump_current_a
from coilward.simulator.power import fed
from coilward.simulator.slots import (
    AIR_LOCK,
    CHANNEL_COUNT,
    CLOCK_ADDS_S,
    CO_PPM,
    COIL_OPEN_LPM,
    CONSTANTS_BAD,
    CURRENT_ADDS_A,
    CURRENT_WIRE,
    DAMPER,
    DIGITAL_,
    EXTRA_LAG_S_,
    FAN_A,
    FAN_SPEED,
    FLOAT_STUCK,
    FLOW_LPM,
    HEAD_LEFT,
    HINDERED,
    LAG_,
    LAGGED_,
    LEVEL,
    LEVEL_LOW,
    LEVEL_LOW_LOW,
    LEVEL_NOW,
    METER_ADDS_LPM,
    METER_FACTOR,
    METER_LOWEST_LPM,
    METER_NOISE,
    MODE_,
    NOISE_K_,
    OFFSET_K_,
    OUTAGE_S,
    PLACE_,
    PULSE_AGE_S,
    PULSE_LPM,
    PULSE_PART,
    PULSES,
    PULSES_PER_L,
    QUANTUM_K_,
    SCALE_,
    SEEN_,
    SENSES_CO,
    SENSES_CURRENT,
    SENSES_DAMPER,
    SENSES_DRIP,
    SENSES_FANS,
    SENSES_LEVEL,
    SENSES_SMOKE,
    SENSES_SWITCH,
    SMOKE,
    SOURCE_,
    SPILT_LPM,
    SUPPLY_V,
    SWITCH_WIRE,
    TICK_S,
    TICKS_PER_S,
    TRUE_,
    VENT_WET,
)

Floats = list[float]

NOISE_POINTS = 8192
NAN = float("nan")
WORKS, OPEN, FROZEN, BAD_FRAME, SHORT = 0.0, 1.0, 2.0, 3.0, 4.0
BAD_FRAME_C = 85.0
"""What a one-wire digital thermometer sends when it was not told to convert."""
SHORT_C = 150.0
"""What a shorted thermometer reads: the hot end of its scale."""
SCALES_FROM_C = 25.0
"""A thermistor is named by its resistance here; a wrong reference turns its scale about it."""
AIR_NOISE = 0.3
"""Spread of a meter's pulses in water that is all air (common practice, no source)."""
LEAST_SPIN = 0.05
"""Of the true rate: a turbine that flutters is never seen to turn backwards."""
SWITCH_LPM = 0.8
"""Flow at which the flow switch closes (common practice, no source)."""
DAMPER_SWITCH = 0.02


def lag_weights(h_s: float, lag_s: float) -> tuple[float, float, float]:
    """Weights of old reading, old truth and new truth, for a truth that moves evenly."""
    if lag_s <= 0.0:
        return 0.0, 0.0, 1.0
    left = math.exp(-h_s / lag_s)
    mean = lag_s / h_s * (1.0 - left)
    return left, mean - left, 1.0 - mean


def lags(y: Floats, p: Floats, n: int) -> None:
    """Thermometers after a step of n ticks: the exact answer to a truth that moved evenly.

    A lag that has grown is a second one before the thermometer's own.
    """
    row = LAG_ + 3 * CHANNEL_COUNT * n
    for channel in range(CHANNEL_COUNT):
        truth = y[int(p[SOURCE_ + channel])]
        extra_s = p[EXTRA_LAG_S_ + channel]
        if extra_s > 0.0:
            kept, old, new = lag_weights(n * p[TICK_S], extra_s)
            place, y[PLACE_ + channel] = y[PLACE_ + channel], truth
            truth = kept * y[TRUE_ + channel] + old * place + new * truth
        else:
            y[PLACE_ + channel] = truth
        y[LAGGED_ + channel] = (
            p[row] * y[LAGGED_ + channel] + p[row + 1] * y[TRUE_ + channel] + p[row + 2] * truth
        )
        y[TRUE_ + channel] = truth
        row += 3


def thermometers(y: Floats, p: Floats, noise: Floats, tick: int) -> None:
    """What is read at a tick. Digital ones convert once a second."""
    second = tick % int(p[TICKS_PER_S]) == 0
    for channel in range(CHANNEL_COUNT):
        mode = p[MODE_ + channel]
        if mode == OPEN:
            y[SEEN_ + channel] = NAN
        elif mode != FROZEN and (second or p[DIGITAL_ + channel] <= 0.0):
            if mode >= BAD_FRAME:
                y[SEEN_ + channel] = BAD_FRAME_C if mode == BAD_FRAME else SHORT_C
            else:
                spot = noise[(tick * (2 * channel + 3) + 811 * channel) & (NOISE_POINTS - 1)]
                scale = p[SCALE_ + channel]
                seen = scale * y[LAGGED_ + channel] + SCALES_FROM_C * (1.0 - scale)
                seen = seen + p[OFFSET_K_ + channel] + p[NOISE_K_ + channel] * spot
                quantum = p[QUANTUM_K_ + channel]
                if quantum > 0.0:
                    seen = math.floor(seen / quantum + 0.5) * quantum
                y[SEEN_ + channel] = seen


def pulses(y: Floats, p: Floats, noise: Floats) -> None:
    """The meter's pulses in one tick; the board times the last two of them.

    The meter sits before the coil: it also sees what a hose that is off spills.
    """
    flow_lpm = y[FLOW_LPM]
    if y[HINDERED] > 0.0:
        flow_lpm += y[SPILT_LPM]
    rate = flow_lpm * p[METER_FACTOR] * p[PULSES_PER_L] / 60.0
    lowest = p[METER_LOWEST_LPM]
    if flow_lpm < lowest:
        # A turbine first slips and then stops: nothing turns below half of its lowest flow.
        slip = 2.0 * flow_lpm / lowest - 1.0
        rate = rate * slip if slip > 0.0 else 0.0
    if p[METER_ADDS_LPM] > 0.0:
        rate += p[METER_ADDS_LPM] * p[PULSES_PER_L] / 60.0
    tick_s = p[TICK_S]
    part = y[PULSE_PART] + rate * tick_s
    old_age_s = y[PULSE_AGE_S]
    if part < 1.0:
        y[PULSE_PART] = part
        y[PULSE_AGE_S] = old_age_s + tick_s
        return
    count = int(part)
    part -= count
    y[PULSE_PART] = part
    y[PULSE_AGE_S] = part / rate
    period_s = 1.0 / rate if count > 1 else old_age_s + tick_s - part / rate
    y[PULSES] += count
    # Counted in pulses, the place in the noise table is the same however the night is cut up.
    spot = noise[(int(y[PULSES]) * 5) & (NOISE_POINTS - 1)]
    flutters = p[METER_NOISE]
    if y[HINDERED] > 0.0:
        flutters += AIR_NOISE * (p[AIR_LOCK] + 1.0 - y[HEAD_LEFT])
    seen = 1.0 + flutters * spot
    if seen < LEAST_SPIN:
        seen = LEAST_SPIN
    y[PULSE_LPM] = 60.0 / (p[PULSES_PER_L] * period_s) * seen


def flag(known: float, on: bool) -> float:
    """A switch as the board sees it; NaN where it is not fitted."""
    if known <= 0.0:
        return NAN
    return 1.0 if on else 0.0


def level_seen(y: Floats, p: Floats) -> float:
    """Level that the float shows, as a share of full."""
    if p[FLOAT_STUCK] >= 0.0:
        return p[FLOAT_STUCK]
    return y[LEVEL_NOW] if y[LEVEL_NOW] < p[LEVEL] else p[LEVEL]


def read(y: Floats, p: Floats, time_s: float) -> Readings:
    """Everything that the board knows at a tick."""
    pump_a = NAN
    if p[SENSES_CURRENT] > 0.0 and p[CURRENT_WIRE] > 0.0:
        pumped_lpm = y[FLOW_LPM] + y[SPILT_LPM]
        pump_a = pump_current_a(y, p, pumped_lpm / p[COIL_OPEN_LPM]) + p[CURRENT_ADDS_A]
    moves = p[SWITCH_WIRE] > 0.0 and y[FLOW_LPM] + y[SPILT_LPM] > SWITCH_LPM
    fan_a = p[FAN_A] * y[FAN_SPEED] if p[SENSES_FANS] > 0.0 else NAN
    co_ppm = p[CO_PPM] if p[SENSES_CO] > 0.0 else NAN
    pump_contact = 1.0 if fed(y, p) else 0.0
    level = level_seen(y, p)
    time_s += p[CLOCK_ADDS_S]
    coil_outlet_a_c, coil_outlet_b_c, tank_c = y[SEEN_], y[SEEN_ + 1], y[SEEN_ + 2]
    radiator_inlet_c, radiator_outlet_c = y[SEEN_ + 3], y[SEEN_ + 4]
    coil_metal_c, flue_c = y[SEEN_ + 5], y[SEEN_ + 6]
    room_c, line_min_c = y[SEEN_ + 7], y[SEEN_ + 8]
    flow_lpm, pulse_age_s = y[PULSE_LPM], y[PULSE_AGE_S]
    flow_switch = flag(p[SENSES_SWITCH], moves)
    level_low = flag(p[SENSES_LEVEL], level < p[LEVEL_LOW])
    level_low_low = flag(p[SENSES_LEVEL], level < p[LEVEL_LOW_LOW])
    damper_shut = flag(p[SENSES_DAMPER], y[DAMPER] <= DAMPER_SWITCH)
    supply_v, outage_s = y[SUPPLY_V], y[OUTAGE_S]
    vent_wet = flag(p[SENSES_DRIP], p[VENT_WET] > 0.0)
    smoke = flag(p[SENSES_SMOKE], p[SMOKE] > 0.0)
    constants_ok = flag(1.0, p[CONSTANTS_BAD] <= 0.0)
    return Readings(
        time_s, coil_outlet_a_c, coil_outlet_b_c, tank_c, radiator_inlet_c, radiator_outlet_c,
        coil_metal_c, flue_c, room_c, line_min_c, flow_lpm, pulse_age_s, flow_switch, pump_a,
        supply_v, level_low, level_low_low, fan_a, damper_shut, co_ppm, pump_contact, outage_s,
        vent_wet, smoke, constants_ok,
    )
