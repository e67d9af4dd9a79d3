"""What the outputs move: pump, throttle valve, fans, damper and dump valve."""

from __future__ import annotations

from coilward.simulator.hydraulics import valve_square
from coilward.simulator.power import LEAST_V, STALLED_SHARE, fed, powered
from coilward.simulator.slots import (
    AIR,
    BACKLASH,
    COLD_,
    CUT_OUT_C,
    DAMPER,
    DAMPER_FALLS,
    DAMPER_STUCK,
    DUMP_FAILS_OPEN,
    DUMP_OPENING,
    DUMP_STUCK,
    FADE_,
    FADES,
    FAN_SHARE,
    FAN_SPEED,
    FANS_FORCED,
    GAS_LEAK,
    HEAD_LEFT,
    HOT_,
    JAMMED,
    LINE_CELLS,
    MOTOR,
    PUMP_A,
    PUMP_CUT_OUT,
    PUMP_HIGH_A,
    PUMP_SHARE,
    PUMP_STALLED,
    PUMP_WIRE_OHM,
    RATED_V,
    SPEED,
    STROKE,
    SUPPLY_V,
    THERMOSTAT,
    TOLD_DAMPER,
    TOLD_DUMP,
    TOLD_FANS,
    TOLD_VALVE,
    TRAVEL_S,
    UNSETTLED_S,
    VALVE_REVERSED,
    VALVE_SQUARE,
    VALVE_STOP,
)

Floats = list[float]

FANS_S, AIR_OPENS_S, DUMP_S, PUMP_S = 3.0, 4.0, 2.0, 0.5
"""Time constants: fans spin up, the air follows an opened damper, dump valve, pump."""
DAMPER_OPENS_S, DAMPER_FALLS_S = 5.0, 1.0
DEAD_HEAD_SHARE = 0.75
"""Current of a centrifugal pump against a shut valve, over its running current."""
CUT_OUT_RETURNS_K = 10.0
AIR_SPARES = 0.6
"""Of the running current, what a pump that turns in air alone does not draw (common practice,
no source)."""
THERMOSTAT_ON_C, THERMOSTAT_OFF_C = 65.0, 55.0
"""A snap disc on the radiator's inlet (common practice, no source): over what a burn at the
set-point has there, under what the fans must not stand at."""
FANS_SETTLE_S = 20.0


def pump_target(y: Floats, p: Floats, volts: float) -> float:
    """Speed that the pump is on its way to, 1 at its rated voltage."""
    if y[COLD_] > p[CUT_OUT_C]:
        y[PUMP_CUT_OUT] = 1.0
    elif y[COLD_] < p[CUT_OUT_C] - CUT_OUT_RETURNS_K:
        y[PUMP_CUT_OUT] = 0.0
    if y[PUMP_CUT_OUT] > 0.0 or p[PUMP_STALLED] > 0.0 or not fed(y, p):
        return 0.0
    if volts < LEAST_V * p[RATED_V]:
        return 0.0
    # A poor wire drops what the pump draws, and that is as its voltage.
    return volts / (p[RATED_V] + p[PUMP_WIRE_OHM] * p[PUMP_A]) * p[PUMP_SHARE]


def pump_current_a(y: Floats, p: Floats, flow_share: float) -> float:
    """Current of the pump, A."""
    if p[PUMP_SHARE] <= 0.0 or y[PUMP_CUT_OUT] > 0.0 or not fed(y, p):
        return 0.0
    if p[PUMP_STALLED] > 0.0:
        return STALLED_SHARE * p[PUMP_HIGH_A] if y[SUPPLY_V] > 0.0 else 0.0
    if flow_share > 1.0:
        flow_share = 1.0
    turning_a = p[PUMP_A] * y[SPEED] * (DEAD_HEAD_SHARE + (1.0 - DEAD_HEAD_SHARE) * flow_share)
    return turning_a * (1.0 - AIR_SPARES * (1.0 - y[HEAD_LEFT]))


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


def asked_stroke(y: Floats, p: Floats) -> float:
    """Where the valve's motor goes: where it is told, or the other way round."""
    return y[TOLD_VALVE] if p[VALVE_REVERSED] <= 0.0 else 1.0 - y[TOLD_VALVE]


def valve(y: Floats, p: Floats, h_s: float) -> float:
    """One step of the valve. Returns its resistance in the middle of the step."""
    asked = asked_stroke(y, p)
    turns = y[MOTOR] != asked and powered(y, p)
    if not turns and stroke_for(y, p, y[MOTOR]) == y[STROKE]:
        return y[VALVE_SQUARE]
    half = 0.5 * h_s / p[TRAVEL_S]
    middle = y[VALVE_SQUARE]
    for part in range(2):
        away = asked - y[MOTOR]
        if turns:
            if away > half:
                y[MOTOR] += half
            elif away < -half:
                y[MOTOR] -= half
            else:
                y[MOTOR] = asked
        y[STROKE] = stroke_for(y, p, y[MOTOR])
        if part == 0:
            middle = valve_square(p, y[STROKE])
    y[VALVE_SQUARE] = valve_square(p, y[STROKE])
    return middle


def fans(y: Floats, p: Floats, n: int) -> float:
    """One step of the fans. Returns their share of full effect in the middle of the step."""
    half = p[FADE_ + FADES * n]
    asked = y[TOLD_FANS]
    if p[THERMOSTAT] > 0.0 and thermostat(y):
        asked = 1.0
    target = asked * p[FAN_SHARE] if powered(y, p) else 0.0
    middle = target + (y[FAN_SPEED] - target) * half
    y[FAN_SPEED] = target + (middle - target) * half
    return middle


def thermostat(y: Floats) -> bool:
    """Whether the snap disc in parallel to the fans' output is closed."""
    inlet_c = y[HOT_ + LINE_CELLS - 1]
    if inlet_c >= THERMOSTAT_ON_C and y[FANS_FORCED] <= 0.0:
        y[FANS_FORCED] = 1.0
        y[UNSETTLED_S] = FANS_SETTLE_S
    elif inlet_c < THERMOSTAT_OFF_C and y[FANS_FORCED] > 0.0:
        y[FANS_FORCED] = 0.0
        y[UNSETTLED_S] = FANS_SETTLE_S
    return y[FANS_FORCED] > 0.0


def dump_valve(y: Floats, p: Floats, n: int) -> float:
    """One step of the dump valve. Returns its opening in the middle of the step."""
    half = p[FADE_ + FADES * n + 3]
    target = y[TOLD_DUMP]
    if p[DUMP_FAILS_OPEN] > 0.0 and not powered(y, p):
        target = 1.0
    if p[DUMP_STUCK] >= 0.0:
        target = p[DUMP_STUCK]
    middle = target + (y[DUMP_OPENING] - target) * half
    y[DUMP_OPENING] = target + (middle - target) * half
    return middle


def damper(y: Floats, p: Floats, n: int, h_s: float) -> float:
    """One step of the damper and of the air behind it. Returns the air in the middle."""
    opened = y[TOLD_DAMPER]
    if p[DAMPER_FALLS] > 0.0 and not powered(y, p):
        opened = 0.0
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
