"""The plant's model once more as plain slopes, for integrators that know nothing of its shape.

Uses the production code's material laws (film, pump curve, valve curve, burning), but its
own statement of every balance and its own, very fine, time steps.
"""

from __future__ import annotations

from coilward.simulator import slots as at
from coilward.simulator.actuators import (
    AIR_OPENS_S,
    DUMP_S,
    FANS_S,
    PUMP_S,
    THERMOSTAT_OFF_C,
    THERMOSTAT_ON_C,
    stroke_for,
)
from coilward.simulator.coil import film_w_k
from coilward.simulator.fire import draught
from coilward.simulator.fire import slopes as burning
from coilward.simulator.flowing import passing
from coilward.simulator.hydraulics import pumped_lpm, valve_square
from coilward.simulator.pipes import core_cell_w_k, dump_share, true_c
from coilward.simulator.power import LEAST_V, supply_v
from coilward.simulator.tank import between_w


def flow_of(y, p):
    """Flow of this instant, L/min."""
    return passing(y, p) * pumped_lpm(p, y[at.SPEED], y[at.VALVE_SQUARE])


def coil_heat(y, p, d):
    """Fire and coil; returns the heat into the metal, W."""
    wall_c = 0.25 * (y[at.WALL_] + y[at.WALL_ + 2] + y[at.WALL_ + 5] + y[at.WALL_ + 7])
    if y[at.HOLD_W] >= 0.0:
        heat_w = y[at.HOLD_W] * p[at.AIR_FACTOR] * y[at.AIR]
        stream = draught(y[at.AIR], heat_w / p[at.NOMINAL_W])
        target_c = wall_c + heat_w / (stream * p[at.GAS_W_K] * p[at.CAUGHT_FACTOR])
        pace_1_s = stream * (p[at.GAS_W_K] + p[at.STACK_W_K]) / p[at.GAS_J_K]
        d[at.GAS] = (target_c - y[at.GAS]) * pace_1_s
        return heat_w / at.COIL_CELLS, 0.0
    moisture, fresh, flaming, char, gas, coil_w_k = burning(
        p, y[at.LIT] * y[at.AIR], y[at.LIVELY], wall_c, y[at.MOISTURE_KG], y[at.FRESH_KG],
        y[at.FLAMING_KG], y[at.CHAR_KG], y[at.GAS],
    )
    d[at.MOISTURE_KG], d[at.FRESH_KG], d[at.FLAMING_KG] = moisture, fresh, flaming
    d[at.CHAR_KG], d[at.GAS] = char, gas
    return coil_w_k / at.COIL_CELLS * y[at.GAS], coil_w_k / at.COIL_CELLS


def chain(y, d, first, stream_w_k, in_c, around_c, cell_j_k, loss_w_k, ice_k):
    """A line; returns its outlet, degC."""
    for i in range(first, first + at.LINE_CELLS):
        cell_c = true_c(y[i], ice_k)
        d[i] = (stream_w_k * (in_c - cell_c) + loss_w_k * (around_c - cell_c)) / cell_j_k
        in_c = cell_c
    return in_c


def lost(y, first, around_c, loss_w_k, ice_k):
    """Loss of a line, W."""
    total_w = 0.0
    for i in range(first, first + at.LINE_CELLS):
        total_w += loss_w_k * (true_c(y[i], ice_k) - around_c)
    return total_w


def all_slopes(y, p, d):
    """Slopes of every slot that has one; zero for the rest."""
    for i in range(at.Y_COUNT):
        d[i] = 0.0
    flow_lpm = flow_of(y, p)
    stream_w_k = flow_lpm * p[at.W_PER_LPM_K]
    outdoor_c, room_c = p[at.OUTDOOR_C], y[at.ROOM_AIR]
    heat_w, heat_w_k = coil_heat(y, p, d)
    cold_c = outdoor_c if p[at.COLD_OUT] > 0.0 else room_c
    hot_c = outdoor_c if p[at.HOT_OUT] > 0.0 else room_c
    back_c = outdoor_c if p[at.BACK_OUT] > 0.0 else room_c
    water_c = chain(
        y, d, at.COLD_, stream_w_k, y[at.TANK_BOTTOM], cold_c, p[at.COLD_J_K], p[at.COLD_W_K],
        p[at.COLD_ICE_K],
    )
    film = film_w_k(p, flow_lpm)
    for i in range(at.COIL_CELLS):
        wall, water = y[at.WALL_ + i], y[at.WATER_ + i]
        taken = p[at.VIEW_ + i] * (heat_w - heat_w_k * wall)
        d[at.WALL_ + i] = (taken - film * (wall - water)) / p[at.WALL_J_K]
        carried = stream_w_k * (water_c - water)
        d[at.WATER_ + i] = (film * (wall - water) + carried) / p[at.WATER_J_K]
        water_c = water
    stub_w = p[at.STUB_W_K] * (y[at.STUB] - hot_c)
    d[at.STUB] = (stream_w_k * (water_c - y[at.STUB]) - stub_w) / p[at.STUB_J_K]
    water_c = chain(
        y, d, at.HOT_, stream_w_k, y[at.STUB], hot_c, p[at.HOT_J_K], p[at.HOT_W_K], p[at.HOT_ICE_K]
    )
    water_c -= dump_share(p[at.DUMP_W_K], y[at.DUMP_OPENING], stream_w_k) * (water_c - outdoor_c)
    room_w = 0.0
    if p[at.HAS_RADIATOR] > 0.0:
        more_w_k = p[at.FANS_ON_W_K] - p[at.FANS_OFF_W_K]
        radiator_w_k = p[at.FANS_OFF_W_K] + more_w_k * y[at.FAN_SPEED]
        cell_w_k = core_cell_w_k(radiator_w_k, stream_w_k)
        for i in range(at.CORE_, at.CORE_ + at.RADIATOR_CELLS):
            given = cell_w_k * (y[i] - room_c)
            d[i] = (stream_w_k * (water_c - y[i]) - given) / p[at.CORE_J_K]
            room_w += given
            water_c = y[i]
    water_c = chain(
        y, d, at.BACK_, stream_w_k, water_c, back_c, p[at.BACK_J_K], p[at.BACK_W_K],
        p[at.BACK_ICE_K],
    )
    top_c, bottom_c = y[at.TANK_TOP], y[at.TANK_BOTTOM]
    down_w = between_w(p, top_c, bottom_c)
    top_w = 0.5 * p[at.TANK_W_K] * (top_c - room_c)
    bottom_w = 0.5 * p[at.TANK_W_K] * (bottom_c - room_c)
    d[at.TANK_TOP] = (stream_w_k * (water_c - top_c) - down_w - top_w) / p[at.LAYER_J_K]
    d[at.TANK_BOTTOM] = (stream_w_k * (top_c - bottom_c) + down_w - bottom_w) / p[at.LAYER_J_K]
    if p[at.IS_TUB] <= 0.0:
        indoors_w = room_w + top_w + bottom_w
        if p[at.COLD_OUT] <= 0.0:
            indoors_w += lost(y, at.COLD_, room_c, p[at.COLD_W_K], p[at.COLD_ICE_K])
        if p[at.HOT_OUT] <= 0.0:
            indoors_w += stub_w + lost(y, at.HOT_, room_c, p[at.HOT_W_K], p[at.HOT_ICE_K])
        if p[at.BACK_OUT] <= 0.0:
            indoors_w += lost(y, at.BACK_, room_c, p[at.BACK_W_K], p[at.BACK_ICE_K])
        d[at.ROOM_AIR] = (indoors_w - p[at.ROOM_W_K] * (room_c - outdoor_c)) / p[at.ROOM_J_K]
    moving_parts(y, p, d)


def moving_parts(y, p, d):
    """Fans, air, dump valve and pump run after their targets."""
    told = 1.0 if y[at.FANS_FORCED] > 0.0 else y[at.TOLD_FANS]
    d[at.FAN_SPEED] = (told * p[at.FAN_SHARE] - y[at.FAN_SPEED]) / FANS_S
    opened = y[at.TOLD_DAMPER] if p[at.DAMPER_STUCK] < 0.0 else p[at.DAMPER_STUCK]
    if opened > 0.5:
        d[at.AIR] = (1.0 - y[at.AIR]) / AIR_OPENS_S
    else:
        d[at.AIR] = (p[at.GAS_LEAK] - y[at.AIR]) / p[at.DECAY_S]
    dump = y[at.TOLD_DUMP] if p[at.DUMP_STUCK] < 0.0 else p[at.DUMP_STUCK]
    d[at.DUMP_OPENING] = (dump - y[at.DUMP_OPENING]) / DUMP_S
    volts = supply_v(y, p, y[at.FAN_SPEED], 0.0)
    speed = 0.0
    if y[at.CONTACT] > 0.0 and p[at.PUMP_STALLED] <= 0.0 and volts >= LEAST_V * p[at.RATED_V]:
        speed = volts / p[at.RATED_V] * p[at.PUMP_SHARE]
    d[at.SPEED] = (speed - y[at.SPEED]) / PUMP_S


def snap_disc(y, p):
    """The fans' thermostat at the end of the hot leg."""
    inlet_c = y[at.HOT_ + at.LINE_CELLS - 1]
    if p[at.THERMOSTAT] > 0.0 and inlet_c >= THERMOSTAT_ON_C:
        y[at.FANS_FORCED] = 1.0
    elif inlet_c < THERMOSTAT_OFF_C:
        y[at.FANS_FORCED] = 0.0


def valve_moves(y, p, h_s):
    """The valve's motor at its constant speed, the stroke behind it."""
    if y[at.SUPPLY_V] >= LEAST_V * p[at.RATED_V]:
        most = h_s / p[at.TRAVEL_S]
        away = y[at.TOLD_VALVE] - y[at.MOTOR]
        if away > most:
            y[at.MOTOR] += most
        elif away < -most:
            y[at.MOTOR] -= most
        else:
            y[at.MOTOR] = y[at.TOLD_VALVE]
    y[at.STROKE] = stroke_for(y, p, y[at.MOTOR])
    y[at.VALVE_SQUARE] = valve_square(p, y[at.STROKE])


def least_cells(y):
    """The coldest cell of each line, which tells of ice."""
    lines = ((at.COLD_, at.COLD_LEAST), (at.HOT_, at.HOT_LEAST), (at.BACK_, at.BACK_LEAST))
    for first, slot in lines:
        least = y[first]
        for i in range(first, first + at.LINE_CELLS):
            if y[i] < least:
                least = y[i]
        y[slot] = least


def rk4(y, p, h_s, steps, k1, k2, k3, k4, work):
    """Classical Runge-Kutta steps of equal length."""
    for _ in range(steps):
        y[at.SUPPLY_V] = supply_v(y, p, y[at.FAN_SPEED], 0.0)
        valve_moves(y, p, h_s)
        snap_disc(y, p)
        all_slopes(y, p, k1)
        for i in range(at.Y_COUNT):
            work[i] = y[i] + 0.5 * h_s * k1[i]
        all_slopes(work, p, k2)
        for i in range(at.Y_COUNT):
            work[i] = y[i] + 0.5 * h_s * k2[i]
        all_slopes(work, p, k3)
        for i in range(at.Y_COUNT):
            work[i] = y[i] + h_s * k3[i]
        all_slopes(work, p, k4)
        for i in range(at.Y_COUNT):
            y[i] += h_s / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i])
        if p[at.IS_TUB] > 0.0:
            y[at.ROOM_AIR] = p[at.OUTDOOR_C]
        least_cells(y)
