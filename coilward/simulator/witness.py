"""What a step is remembered by: heat flows and energy, margins and peaks, who was asked what."""

from __future__ import annotations

from coilward.simulator.power import fed
from coilward.simulator.slots import (
    BACKLASH,
    BOIL_C,
    BOILED_S,
    COIL_J_K,
    CONTACT_WELDED,
    DAMPER_ASKED_S,
    DAMPER_STUCK,
    DUMP_ASKED_S,
    DUMP_J,
    DUMP_STUCK,
    DUMP_W,
    DUMP_W_K,
    FANS_RUN_S,
    FIRE_J,
    FIRE_W,
    FLOW_LPM,
    FLOW_S,
    HAS_RADIATOR,
    HEAT_S,
    HORN,
    HORN_ASKED_S,
    HOTTEST_WALL,
    HOTTEST_WATER,
    LEAST_BOIL_K,
    LEAST_BOIL_S,
    LINES_J,
    LOSS_W,
    NOMINAL_W,
    PEAK,
    PEAK_OUTLET,
    PEAK_TANK,
    PEAK_WALL,
    PUMP_OFF_FIRE_S,
    PUMP_RUN_S,
    ROOM_J,
    ROOM_W,
    STROKE,
    STUB,
    TANK_J,
    TANK_TOP,
    TOLD_DAMPER,
    TOLD_DUMP,
    TOLD_FANS,
    TOLD_PUMP,
    TOLD_VALVE,
    VALVE_ASKED_S,
    WATER_W,
    WELDED_S,
)

Floats = list[float]

LOW_HEAT, SMALL_HEAT = 0.01, 0.05
"""Shares of the nominal heat: as good as none, and a fire that may not be left without water."""
MOVES_LPM = 0.5


def account(
    y: Floats, h_s: float, fire_w: float, water_w: float, room_w: float, dump_w: float,
    lines_w: float, tank_w: float,
) -> None:
    """Heat flows of the step, and the energy that has passed since the start."""
    y[FIRE_W] = fire_w
    y[WATER_W] = water_w
    y[ROOM_W] = room_w
    y[DUMP_W] = dump_w
    y[LOSS_W] = lines_w + tank_w
    y[FIRE_J] += h_s * fire_w
    y[ROOM_J] += h_s * room_w
    y[DUMP_J] += h_s * dump_w
    y[LINES_J] += h_s * lines_w
    y[TANK_J] += h_s * tank_w


def judge(y: Floats, p: Floats) -> None:
    """Margins and peaks, frozen at the first boil."""
    margin_k = p[BOIL_C] - y[HOTTEST_WATER]
    if margin_k < y[LEAST_BOIL_K]:
        y[LEAST_BOIL_K] = margin_k
    if y[FIRE_W] * y[LEAST_BOIL_S] * p[PEAK] > margin_k * p[COIL_J_K]:
        y[LEAST_BOIL_S] = margin_k * p[COIL_J_K] / (y[FIRE_W] * p[PEAK])
    if y[BOILED_S] >= 0.0:
        return
    if y[STUB] > y[PEAK_OUTLET]:
        y[PEAK_OUTLET] = y[STUB]
    if y[HOTTEST_WALL] > y[PEAK_WALL]:
        y[PEAK_WALL] = y[HOTTEST_WALL]
    if y[TANK_TOP] > y[PEAK_TANK]:
        y[PEAK_TANK] = y[TANK_TOP]


def witness(y: Floats, p: Floats, h_s: float) -> None:
    """How long each part was asked for something, so that a fault can be told to have acted."""
    if fed(y, p):
        y[PUMP_RUN_S] += h_s
        if p[CONTACT_WELDED] > 0.0 and y[TOLD_PUMP] <= 0.0:
            y[WELDED_S] += h_s
    elif y[FIRE_W] > SMALL_HEAT * p[NOMINAL_W]:
        y[PUMP_OFF_FIRE_S] += h_s
    if y[TOLD_FANS] > 0.0 and p[HAS_RADIATOR] > 0.0:
        y[FANS_RUN_S] += h_s
    if y[FLOW_LPM] > MOVES_LPM:
        y[FLOW_S] += h_s
    if y[FIRE_W] > LOW_HEAT * p[NOMINAL_W]:
        y[HEAT_S] += h_s
    if abs(y[TOLD_VALVE] - y[STROKE]) > p[BACKLASH] + 0.02:
        y[VALVE_ASKED_S] += h_s
    if p[DAMPER_STUCK] >= 0.0 and p[DAMPER_STUCK] != y[TOLD_DAMPER]:
        y[DAMPER_ASKED_S] += h_s
    if p[DUMP_W_K] > 0.0 and p[DUMP_STUCK] >= 0.0 and p[DUMP_STUCK] != y[TOLD_DUMP]:
        y[DUMP_ASKED_S] += h_s
    if y[HORN] > 0.0:
        y[HORN_ASKED_S] += h_s
