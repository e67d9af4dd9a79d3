"""What the outputs move: pump, throttle valve, fans, damper, dump valve, and the supply."""

from __future__ import annotations

from coilward.simulator.hydraulics import valve_square
from coilward.simulator.slots import (
    AIR,
    BACKLASH,
    BATTERY_AH,
    BOARD_A,
    CHARGER,
    COLD_,
    CONTACT,
    CUT_OUT_C,
    DAMPER,
    DAMPER_STUCK,
    DRAWN_AH,
    DUMP_OPENING,
    DUMP_STUCK,
    FADE_,
    FADES,
    FAN_A,
    FAN_SHARE,
    FAN_SPEED,
    GAS_LEAK,
    JAMMED,
    MOTOR,
    PUMP_A,
    PUMP_CUT_OUT,
    PUMP_HIGH_A,
    PUMP_SHARE,
    PUMP_STALLED,
    RATED_V,
    SPEED,
    STROKE,
    SUPPLY_OPEN_V,
    SUPPLY_V,
    TOLD_DAMPER,
    TOLD_DUMP,
    TOLD_FANS,
    TOLD_VALVE,
    TRAVEL_S,
    VALVE_SQUARE,
    VALVE_STOP,
)

Floats = list[float]

FANS_S, AIR_OPENS_S, DUMP_S, PUMP_S = 3.0, 4.0, 2.0, 0.5
"""Time constants: fans spin up, the air follows an opened damper, dump valve, pump."""
DAMPER_OPENS_S, DAMPER_FALLS_S = 5.0, 1.0
SOURCE_OHM = 0.03
"""Battery and wiring (common practice, no source)."""
EMPTY_SAG_SHARE = 0.12
"""A lead-acid battery at rest, full less empty, over its rated voltage (common practice, no
source)."""
STALLED_SHARE = 1.25
"""Current of a rotor held fast, over the high limit of the pump's current."""
DEAD_HEAD_SHARE = 0.75
"""Current of a centrifugal pump against a shut valve, over its running current."""
CUT_OUT_RETURNS_K = 10.0
LEAST_V = 0.5
"""Share of the rated voltage under which nothing turns (common practice, no source)."""


def supply_v(y: Floats, p: Floats, fan_speed: float, h_s: float) -> float:
    """Voltage under load after a step, V. Without its charger the battery runs down."""
    open_v = p[SUPPLY_OPEN_V]
    if open_v <= 0.0:
        return 0.0
    load_a = p[BOARD_A] + p[PUMP_A] * y[SPEED] + p[FAN_A] * fan_speed
    if y[CONTACT] > 0.0 and p[PUMP_STALLED] > 0.0:
        load_a += STALLED_SHARE * p[PUMP_HIGH_A]
    if p[CHARGER] <= 0.0:
        y[DRAWN_AH] += load_a * h_s / 3600.0
        if y[DRAWN_AH] >= p[BATTERY_AH]:
            return 0.0
        open_v -= EMPTY_SAG_SHARE * p[RATED_V] * y[DRAWN_AH] / p[BATTERY_AH]
    return open_v - SOURCE_OHM * load_a


def pump_target(y: Floats, p: Floats, volts: float) -> float:
    """Speed that the pump is on its way to, 1 at its rated voltage."""
    if y[COLD_] > p[CUT_OUT_C]:
        y[PUMP_CUT_OUT] = 1.0
    elif y[COLD_] < p[CUT_OUT_C] - CUT_OUT_RETURNS_K:
        y[PUMP_CUT_OUT] = 0.0
    if y[CONTACT] <= 0.0 or y[PUMP_CUT_OUT] > 0.0 or p[PUMP_STALLED] > 0.0:
        return 0.0
    if volts < LEAST_V * p[RATED_V]:
        return 0.0
    return volts / p[RATED_V] * p[PUMP_SHARE]


def pump_current_a(y: Floats, p: Floats, flow_share: float) -> float:
    """Current of the pump, A."""
    if y[CONTACT] <= 0.0 or p[PUMP_SHARE] <= 0.0 or y[PUMP_CUT_OUT] > 0.0:
        return 0.0
    if p[PUMP_STALLED] > 0.0:
        return STALLED_SHARE * p[PUMP_HIGH_A] if y[SUPPLY_V] > 0.0 else 0.0
    if flow_share > 1.0:
        flow_share = 1.0
    return p[PUMP_A] * y[SPEED] * (DEAD_HEAD_SHARE + (1.0 - DEAD_HEAD_SHARE) * flow_share)


def stroke_for(y: Floats, p: Floats, motor: float) -> float:
    """Stroke with the motor at a place: opening it pushes, closing it first takes up the play."""
    if p[JAMMED] >= 0.0:
        return p[JAMMED]
    stroke = y[STROKE]
    if stroke < motor:
        stroke = motor
    elif stroke > motor + p[BACKLASH]:
        stroke = motor + p[BACKLASH]
    if stroke < p[VALVE_STOP]:
        return p[VALVE_STOP]
    return stroke if stroke < 1.0 else 1.0


def valve(y: Floats, p: Floats, h_s: float) -> float:
    """One step of the valve. Returns its resistance in the middle of the step."""
    away = y[TOLD_VALVE] - y[MOTOR]
    powered = y[SUPPLY_V] >= LEAST_V * p[RATED_V]
    if (away == 0.0 or not powered) and stroke_for(y, p, y[MOTOR]) == y[STROKE]:
        return y[VALVE_SQUARE]
    half = 0.5 * h_s / p[TRAVEL_S]
    middle = y[VALVE_SQUARE]
    for part in range(2):
        away = y[TOLD_VALVE] - y[MOTOR]
        if powered:
            if away > half:
                y[MOTOR] += half
            elif away < -half:
                y[MOTOR] -= half
            else:
                y[MOTOR] = y[TOLD_VALVE]
        y[STROKE] = stroke_for(y, p, y[MOTOR])
        if part == 0:
            middle = valve_square(p, y[STROKE])
    y[VALVE_SQUARE] = valve_square(p, y[STROKE])
    return middle


def fans(y: Floats, p: Floats, n: int) -> float:
    """One step of the fans. Returns their share of full effect in the middle of the step."""
    half = p[FADE_ + FADES * n]
    target = y[TOLD_FANS] * p[FAN_SHARE]
    middle = target + (y[FAN_SPEED] - target) * half
    y[FAN_SPEED] = target + (middle - target) * half
    return middle


def dump_valve(y: Floats, p: Floats, n: int) -> float:
    """One step of the dump valve. Returns its opening in the middle of the step."""
    half = p[FADE_ + FADES * n + 3]
    target = y[TOLD_DUMP]
    if p[DUMP_STUCK] >= 0.0:
        target = p[DUMP_STUCK]
    middle = target + (y[DUMP_OPENING] - target) * half
    y[DUMP_OPENING] = target + (middle - target) * half
    return middle


def damper(y: Floats, p: Floats, n: int, h_s: float) -> float:
    """One step of the damper and of the air behind it. Returns the air in the middle."""
    opened = y[TOLD_DAMPER]
    if p[DAMPER_STUCK] >= 0.0:
        opened = p[DAMPER_STUCK]
    if opened > 0.5:
        half, target = p[FADE_ + FADES * n + 1], 1.0
        y[DAMPER] += h_s / DAMPER_OPENS_S
        if y[DAMPER] > 1.0:
            y[DAMPER] = 1.0
    else:
        half, target = p[FADE_ + FADES * n + 2], p[GAS_LEAK]
        y[DAMPER] -= h_s / DAMPER_FALLS_S
        if y[DAMPER] < 0.0:
            y[DAMPER] = 0.0
    middle = target + (y[AIR] - target) * half
    y[AIR] = target + (middle - target) * half
    return middle
