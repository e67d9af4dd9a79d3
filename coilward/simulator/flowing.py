"""The flow of a step: supply, pump, valve, ice, and whatever hinders the water."""

from __future__ import annotations

from coilward.simulator.actuators import asked_stroke, pump_target, valve
from coilward.simulator.hydraulics import head_left, hindered, pumped_lpm, resists
from coilward.simulator.pipes import BLOCKS
from coilward.simulator.power import LEAST_V, powered, pump_v, supply_v
from coilward.simulator.slots import (
    AIR_LOCK,
    BACK_ICE_K,
    BACK_LEAST,
    COLD_ICE_K,
    COLD_LEAST,
    FADE_,
    FADES,
    FLOW_LPM,
    HEAD_LEFT,
    HINDERED,
    HOSE_OFF,
    HOT_ICE_K,
    HOT_LEAST,
    LINE_BLOCKED,
    MOTOR,
    MOVING,
    PASSING,
    RATED_V,
    SPEED,
    SPILT_LPM,
    SUPPLY_V,
    VALVE_SQUARE,
)

Floats = list[float]

TURNS, SPINS = 1.0, 2.0
"""The valve moves; the pump changes its speed, or ice its share of the flow."""
SPEED_SETTLED = 0.002
STIRS_LPM = 0.002
"""A hindered flow that changes more than this in a step is worth a look at every tick."""


def passing(y: Floats, p: Floats) -> float:
    """Share of the flow that ice in the lines still lets through."""
    if p[LINE_BLOCKED] > 0.0:
        return 0.0
    share = 1.0
    if y[COLD_LEAST] < 0.0 or y[HOT_LEAST] < 0.0 or y[BACK_LEAST] < 0.0:
        share = narrowed(share, y[COLD_LEAST], p[COLD_ICE_K])
        share = narrowed(share, y[HOT_LEAST], p[HOT_ICE_K])
        share = narrowed(share, y[BACK_LEAST], p[BACK_ICE_K])
    return share


def narrowed(share: float, least: float, ice_k: float) -> float:
    """The smaller of a share and what the iciest cell of a line passes."""
    passed = 1.0 + least / (BLOCKS * ice_k)
    if passed < 0.0:
        return 0.0
    return passed if passed < share else share


def flows(y: Floats, p: Floats, n: int, h_s: float, fan_mid: float) -> float:
    """One step of supply, pump and valve. Returns the flow in the middle of the step, L/min."""
    y[SUPPLY_V] = supply_v(y, p, fan_mid, h_s)
    volts = y[SUPPLY_V]
    if volts < LEAST_V * p[RATED_V]:
        volts = pump_v(y, p, h_s)
    target = pump_target(y, p, volts)
    half = p[FADE_ + FADES * n + 4]
    speed, square, flow_lpm = y[SPEED], y[VALVE_SQUARE], y[FLOW_LPM]
    speed_mid = target + (y[SPEED] - target) * half
    y[SPEED] = target + (speed_mid - target) * half
    square_mid = valve(y, p, h_s)
    y[MOVING] = 0.0
    if abs(y[SPEED] - target) > SPEED_SETTLED:
        y[MOVING] = SPINS
    elif y[MOTOR] != asked_stroke(y, p) and powered(y, p):
        y[MOVING] = TURNS
    was_open, y[PASSING] = y[PASSING], passing(y, p)
    if y[PASSING] > 0.0 and y[PASSING] < 1.0:
        y[MOVING] = SPINS
    if y[HINDERED] > 0.0 or hindered(y, p):
        return hindered_flows(y, p, speed_mid, square_mid)
    unchanged = y[SPEED] == speed and y[VALVE_SQUARE] == square and square_mid == square
    if unchanged and was_open == 1.0 and y[PASSING] == 1.0:
        return flow_lpm
    y[FLOW_LPM] = y[PASSING] * pumped_lpm(p, y[SPEED], y[VALVE_SQUARE])
    return y[PASSING] * pumped_lpm(p, speed_mid, square_mid)


def hindered_flows(y: Floats, p: Floats, speed_mid: float, square_mid: float) -> float:
    """The end of `flows` where something hinders the water, and for the first step after.

    Through a hose that is off at the coil the pump's water runs out.
    """
    y[HINDERED] = 1.0 if hindered(y, p) else 0.0
    y[HEAD_LEFT] = head_left(y, p)
    times = resists(y, p)
    passes = y[PASSING] * (1.0 - p[AIR_LOCK])
    mid_lpm = passes * pumped_lpm(p, speed_mid, square_mid, y[HEAD_LEFT], times)
    end_lpm = passes * pumped_lpm(p, y[SPEED], y[VALVE_SQUARE], y[HEAD_LEFT], times)
    if y[MOVING] <= 0.0 and abs(end_lpm - y[FLOW_LPM] - y[SPILT_LPM]) > STIRS_LPM:
        y[MOVING] = TURNS
    off = p[HOSE_OFF] > 0.0
    y[FLOW_LPM] = 0.0 if off else end_lpm
    y[SPILT_LPM] = end_lpm if off else 0.0
    return 0.0 if off else mid_lpm
