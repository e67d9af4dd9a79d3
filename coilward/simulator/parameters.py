"""From a described loop to the plant's flat parameter list, and to its first state."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from coilward.loop.derived import Derived
from coilward.loop.hydraulics import coil_bore_m
from coilward.loop.model import Line, Loop, Thermometer
from coilward.loop.sums import boil, film, freeze
from coilward.loop.water import COIL_MEAN_C, WATER_C_J_KG_K
from coilward.simulator import slots as at
from coilward.simulator.actuators import AIR_OPENS_S, DUMP_S, FANS_S, PUMP_S
from coilward.simulator.closed import FINER
from coilward.simulator.hydraulics import pumped_lpm, valve_square
from coilward.simulator.sensors import NOISE_POINTS, OPEN, WORKS, lag_weights
from coilward.simulator.wood import ceiling_w, glowing_bed

Floats = list[float]

SUB_STEP_S = 0.25
QUIET_S, CALM_S = 1.0, 4.0
"""Steps of a quiet and of a calm plant."""
STUB_M = 0.3
MIXING_W_M2_K = 20.0
"""Between the tank's layers: what conducts and stirs (common practice, no source)."""
LAYER_HEIGHT_M = 0.5
JET_MIXES_S = 100.0
"""A tub is stirred by its jet and by the people in it (common practice, no source)."""
FILM_REACH = 1.5
"""The film's table ends at this many times the flow with the valve open."""
DRYING_S = 240.0
FLAMING_SHARE, CHAR_TIME_SHARE = 0.12, 0.25
"""Burn-up times with air without end, over the charge interval (common practice, no source)."""


def noise_table(seed: int) -> list[float]:
    """Standard normals, drawn once from the seed."""
    drawn: list[float] = np.random.default_rng(seed).standard_normal(NOISE_POINTS).tolist()
    return drawn


def parameters(loop: Loop, derived: Derived, outdoor_c: float) -> Floats:
    """All parameters of a sound plant on a night with this air outside."""
    p = [0.0] * at.P_COUNT
    _pace(p, loop)
    _water(p, loop, derived)
    _lines(p, loop)
    _sinks(p, loop, derived)
    _hydraulics(p, loop, derived)
    _fire(p, loop, derived)
    p[at.OUTDOOR_C] = outdoor_c
    _instruments(p, loop)
    _passive(p, loop, derived)
    _sound(p, loop)
    return p


def _pace(p: Floats, loop: Loop) -> None:
    tick_s = loop.tick_s
    a_second = max(1, round(1.0 / tick_s))
    p[at.TICK_S] = tick_s
    p[at.TICKS_PER_S] = a_second
    p[at.SUB_STEPS] = max(1, math.ceil(tick_s / SUB_STEP_S - 1e-9))
    p[at.QUIET_TICKS] = max(1, round(QUIET_S / tick_s))
    p[at.CALM_TICKS] = max(1, round(CALM_S / tick_s))
    fades = (FANS_S, AIR_OPENS_S, 60.0 * loop.fire.decay_min, DUMP_S, PUMP_S)
    sub_step_s = tick_s / p[at.SUB_STEPS]
    lengths_s = [sub_step_s, *(n * tick_s for n in range(1, at.STEPS + 1)), sub_step_s / FINER]
    for n, h_s in enumerate(lengths_s):
        for k, tau_s in enumerate(fades):
            p[at.FADE_ + at.FADES * n + k] = math.exp(-0.5 * h_s / tau_s)


def _water(p: Floats, loop: Loop, derived: Derived) -> None:
    coil, cells = loop.coil, at.COIL_CELLS
    p[at.W_PER_LPM_K] = derived.water_w_per_lpm_k
    p[at.BOIL_C] = derived.coil_boil_c
    p[at.PEAK] = coil.peak_to_mean
    p[at.COIL_J_K] = derived.coil_heat_j_k
    p[at.COIL_OPEN_LPM] = max(derived.flow_open_lpm, 0.1)
    p[at.WALL_J_K] = derived.coil_copper_kg * boil.COPPER_C_J_KG_K / cells
    p[at.WATER_J_K] = derived.coil_water_kg * WATER_C_J_KG_K / cells
    for i in range(cells):
        share = i / (cells - 1)
        p[at.VIEW_ + i] = 2.0 - coil.peak_to_mean + 2.0 * (coil.peak_to_mean - 1.0) * share
    bore_m = coil_bore_m(coil)
    area_m2 = film.inner_area_m2(coil.length_m, bore_m)
    flux_w_m2 = coil.peak_to_mean * 1e3 * loop.fire.nominal_kw / area_m2
    still_w_m2_k = flux_w_m2 / film.still_film_k(flux_w_m2, bore_m, COIL_MEAN_C)
    p[at.FILM_STEP_LPM] = FILM_REACH * p[at.COIL_OPEN_LPM] / (at.FILM_POINTS - 1)
    for k in range(at.FILM_POINTS):
        flow_lpm = k * p[at.FILM_STEP_LPM]
        best = max(still_w_m2_k, film.flowing_w_m2_k(flow_lpm, bore_m, COIL_MEAN_C))
        p[at.FILM_ + k] = best * area_m2 / cells


def _line(line: Line, length_m: float) -> tuple[float, float, float]:
    """Of a length of line: heat capacity, J/K, loss, W/K, and ice as an enthalpy, K."""
    resistance_mk_w = freeze.resistance_mk_w(
        line.inside_diameter_mm, line.outside_diameter_mm, line.wall_w_mk, line.insulation_mm,
        line.insulation_w_mk, line.wind_w_m2k,
    )  # fmt: skip
    heat_j_mk = freeze.heat_j_mk(line.inside_diameter_mm, line.wall_kj_mk)
    ice_j_m = freeze.pipe_water_kg_m(line.inside_diameter_mm) * freeze.ICE_KJ_KG * 1e3
    return length_m * heat_j_mk, length_m / resistance_mk_w, ice_j_m / heat_j_mk


def _lines(p: Floats, loop: Loop) -> None:
    cold, hot, back = loop.lines.cold, loop.lines.hot, loop.lines.back
    for line, slot in ((cold, at.COLD_J_K), (hot, at.HOT_J_K), (back, at.BACK_J_K)):
        p[slot], p[slot + 1], p[slot + 2] = _line(line, line.length_m / at.LINE_CELLS)
    p[at.STUB_J_K], p[at.STUB_W_K], _ = _line(hot, STUB_M)
    p[at.COLD_OUT], p[at.HOT_OUT] = float(cold.outdoors), float(hot.outdoors)
    p[at.BACK_OUT] = float(back.outdoors)


def _sinks(p: Floats, loop: Loop, derived: Derived) -> None:
    radiator, room, tub = loop.radiator, loop.room, loop.room.kind == "tub"
    if radiator is not None:
        water_j_k = radiator.water_l * derived.coil_water_kg / derived.coil_water_l * WATER_C_J_KG_K
        p[at.HAS_RADIATOR] = 1.0
        p[at.CORE_J_K] = (water_j_k + 1e3 * radiator.metal_kj_k) / at.RADIATOR_CELLS
        p[at.FANS_ON_W_K], p[at.FANS_OFF_W_K] = radiator.fans_on_w_k, radiator.fans_off_w_k
    p[at.DUMP_W_K] = loop.dump.conductance_w_k if loop.dump else 0.0
    p[at.DUMP_FAILS_OPEN] = float(loop.dump is not None and loop.dump.opens_without_power)
    p[at.LAYER_J_K] = 0.5 * derived.tank_heat_j_k
    p[at.TANK_L], p[at.TANK_W_K] = loop.tank.water_l, loop.tank.loss_w_k
    p[at.LAYERS_W_K] = MIXING_W_M2_K * 1e-3 * loop.tank.water_l / (2.0 * LAYER_HEIGHT_M)
    if tub:
        p[at.LAYERS_W_K] = p[at.LAYER_J_K] / JET_MIXES_S
    p[at.IS_TUB] = float(tub)
    p[at.ROOM_J_K], p[at.ROOM_W_K] = 1e3 * room.heat_capacity_kj_k, room.heat_loss_w_k


def _hydraulics(p: Floats, loop: Loop, derived: Derived) -> None:
    system, valve, pump = derived.system, loop.valve, loop.pump
    p[at.HEAD0_KPA], p[at.HEAD1], p[at.HEAD2] = system.head0_kpa, system.head1, system.head2
    p[at.LOOP1], p[at.LOOP2] = system.loop1, system.loop2
    p[at.KVS], p[at.LOG_RANGE] = system.kvs_m3h, math.log(system.rangeability)
    p[at.CRACK_OPEN], p[at.BYPASS_KV] = system.crack_open, system.bypass_kv_m3h
    p[at.VALVE_STOP], p[at.BACKLASH], p[at.TRAVEL_S] = valve.stop, valve.backlash, valve.travel_s
    p[at.PUMP_A], p[at.PUMP_HIGH_A] = pump.current_a, pump.current_high_a
    p[at.CUT_OUT_C] = math.inf if pump.cut_out_c is None else pump.cut_out_c
    p[at.RATED_V], p[at.BOARD_A] = pump.voltage_v, loop.power.board_a
    p[at.FAN_A] = loop.radiator.fan_current_a if loop.radiator else 0.0


def _fire(p: Floats, loop: Loop, derived: Derived) -> None:
    fire = loop.fire
    nominal_w, release_w = 1e3 * fire.nominal_kw, 1e3 * fire.nominal_kw / fire.caught
    settled = derived.settled.nominal
    film_w_k = p[at.FILM_ + round(settled.flow_lpm / p[at.FILM_STEP_LPM])] * at.COIL_CELLS
    wall_c = 0.5 * (settled.outlet_c + settled.tank_c) + nominal_w / film_w_k
    interval_s = 60.0 * fire.charge_interval_min
    p[at.NOMINAL_W], p[at.RELEASE_W] = nominal_w, release_w
    p[at.GAS_W_K] = nominal_w / (fire.gas_c - wall_c)
    p[at.STACK_W_K] = (release_w - nominal_w) / (fire.gas_c - loop.site.outdoor_c)
    p[at.GAS_J_K] = fire.lag_s * (p[at.GAS_W_K] + p[at.STACK_W_K])
    p[at.GAS_LEAK], p[at.DECAY_S] = fire.damper_leak, 60.0 * fire.decay_min
    p[at.DRYING_1_S] = 1.0 / DRYING_S
    p[at.FLAMING_1_S] = 1.0 / (FLAMING_SHARE * interval_s)
    p[at.CHAR_1_S] = 1.0 / (CHAR_TIME_SHARE * interval_s)
    p[at.CAUGHT_FACTOR] = p[at.AIR_FACTOR] = 1.0
    p[at.OUTDOOR_C] = loop.site.outdoor_c
    p[at.CEILING_W] = ceiling_w(p, 1e3 * fire.largest_kw, interval_s, wall_c)


def _instruments(p: Floats, loop: Loop) -> None:
    sensors, meter = loop.sensors, loop.meter
    core = at.CORE_ + at.RADIATOR_CELLS - 1
    outlet = sensors.radiator_outlet
    sources = [at.STUB, at.STUB, at.TANK_BOTTOM, at.HOT_ + at.LINE_CELLS - 1,
               core if outlet is None or outlet.in_air_stream else at.BACK_,
               at.WALL_ + at.COIL_CELLS - 1, at.FLUE_GAS, at.ROOM_AIR, at.LINE_LEAST]  # fmt: skip
    for channel, name in enumerate(at.CHANNELS):
        sensor: Thermometer | None = getattr(sensors, name)
        if loop.radiator is None and channel in (at.RADIATOR_INLET, at.RADIATOR_OUTLET):
            sensor = None
        p[at.SOURCE_ + channel] = sources[channel]
        p[at.MODE_ + channel] = OPEN if sensor is None else WORKS
        if sensor is not None:
            p[at.DIGITAL_ + channel] = float(sensor.kind == "digital")
            p[at.NOISE_K_ + channel], p[at.QUANTUM_K_ + channel] = sensor.noise_k, sensor.quantum_k
            p[at.OFFSET_K_ + channel] = sensor.offset_k
        set_lag(p, channel, loop.tick_s, 0.0 if sensor is None else sensor.lag_s)
    p[at.PULSES_PER_L], p[at.METER_LOWEST_LPM] = meter.pulses_per_litre, meter.lowest_lpm
    p[at.METER_NOISE] = meter.noise
    p[at.SENSES_CURRENT], p[at.SENSES_LEVEL] = float(sensors.pump_current), float(sensors.level)
    p[at.SENSES_FANS] = float(sensors.fan_current and loop.radiator is not None)
    p[at.SENSES_SWITCH] = float(sensors.flow_switch)
    p[at.SENSES_DAMPER], p[at.SENSES_CO] = float(sensors.damper_switch), float(sensors.co)
    p[at.SENSES_DRIP], p[at.SENSES_SMOKE] = float(sensors.vent_drip), float(sensors.smoke)
    p[at.LEVEL_LOW], p[at.LEVEL_LOW_LOW] = loop.tank.low, loop.tank.low_low


QUENCH_UNDER_BOIL_K = 15.0
"""A quench valve begins to open this far under boiling (common practice, no source)."""


def _passive(p: Floats, loop: Loop, derived: Derived) -> None:
    """Hardware that works by itself, as far as it counts today.

    A quench coil opens so that it is full 10 K under boiling; a gravity dump at the allowed
    temperature, because it is a coarse thing that cools the loop whenever it is open. Both lie
    over the dump's trip: in a normal run neither acts. Of two the later opening holds for both.
    """
    opens_c = {
        "quench_coil": derived.coil_boil_c - QUENCH_UNDER_BOIL_K, "gravity_dump": derived.allow_c
    }
    for name, from_c in opens_c.items():
        device = getattr(loop.passive, name)
        if name in derived.passive and device.carries_kw is not None:
            p[at.HELD_CAP_W] += 1e3 * device.carries_kw
            p[at.HELD_FROM_C] = max(p[at.HELD_FROM_C], from_c)
    p[at.PUMP_BATTERY] = float("pump_battery" in derived.passive)
    p[at.SEALS_IN] = float("no_volt_release" in derived.passive)
    p[at.DAMPER_FALLS] = float("gravity_damper" in derived.passive)
    p[at.THERMOSTAT] = float("fan_thermostat" in derived.passive and loop.radiator is not None)
    p[at.RESTING_V] = loop.power.resting_v


def set_lag(p: Any, channel: int, tick_s: float, lag_s: float) -> None:
    """Give a thermometer a lag."""
    for n in range(1, at.STEPS + 1):
        row = at.LAG_ + 3 * (at.CHANNEL_COUNT * n + channel)
        p[row : row + 3] = lag_weights(n * tick_s, lag_s)


def _sound(p: Floats, loop: Loop) -> None:
    """Everything that a fault may change, as it is without faults."""
    p[at.PUMP_SHARE] = p[at.FAN_SHARE] = p[at.METER_FACTOR] = 1.0
    p[at.CURRENT_WIRE] = p[at.SWITCH_WIRE] = p[at.LEVEL] = 1.0
    p[at.JAMMED] = p[at.DAMPER_STUCK] = p[at.DUMP_STUCK] = -1.0
    p[at.SUPPLY_OPEN_V] = loop.power.resting_v
    p[at.CHARGER], p[at.BATTERY_AH] = 1.0, loop.power.battery_ah
    p[at.FLOAT_STUCK], p[at.FILM_SHARE], p[at.CAVITATES_C] = -1.0, 1.0, math.inf
    p[at.SCALE_ : at.SCALE_ + at.CHANNEL_COUNT] = [1.0] * at.CHANNEL_COUNT


def resting(loop: Loop, p: Floats) -> Floats:
    """Fire out, pump off, water from the tank in the lines, the radiator at the room's air."""
    outdoor_c, tank_c = p[at.OUTDOOR_C], loop.tank.start_c
    room_c = outdoor_c if p[at.IS_TUB] > 0.0 else loop.room.air_c
    y = [0.0] * at.Y_COUNT
    for first in (at.COLD_, at.HOT_, at.BACK_):
        y[first : first + at.LINE_CELLS] = [tank_c] * at.LINE_CELLS
    y[at.STUB] = tank_c
    y[at.WALL_ : at.WATER_ + at.COIL_CELLS] = [tank_c] * (2 * at.COIL_CELLS)
    y[at.CORE_ : at.CORE_ + at.RADIATOR_CELLS] = [room_c] * at.RADIATOR_CELLS
    y[at.TANK_TOP] = y[at.TANK_BOTTOM] = tank_c
    y[at.ROOM_AIR], y[at.GAS] = room_c, outdoor_c
    y[at.TOLD_VALVE] = y[at.MOTOR] = y[at.STROKE] = 1.0
    y[at.AIR] = p[at.GAS_LEAK]
    y[at.LEVEL_NOW] = y[at.HEAD_LEFT] = 1.0
    _ready(y, p)
    return y


def running(loop: Loop, derived: Derived, p: Floats) -> Floats:
    """A guess at the loop settled at its nominal heat, fire held, pump and fans on."""
    y = resting(loop, p)
    settled = derived.settled.throttled
    tank_c, outlet_c = settled.tank_c, settled.outlet_c
    if p[at.IS_TUB] > 0.0:
        tank_c = derived.tank_finish_c - TUB_STARTS_BELOW_K
        outlet_c = tank_c + p[at.NOMINAL_W] / (derived.flow_open_lpm * derived.water_w_per_lpm_k)
    for i in range(at.COIL_CELLS):
        water_c = tank_c + (outlet_c - tank_c) * (i + 1) / at.COIL_CELLS
        y[at.WALL_ + i] = y[at.WATER_ + i] = water_c
    after_c = outlet_c if p[at.HAS_RADIATOR] <= 0.0 else tank_c
    lines = ((at.COLD_, tank_c), (at.HOT_, outlet_c), (at.BACK_, after_c))
    for first, line_c in lines:
        y[first : first + at.LINE_CELLS] = [line_c] * at.LINE_CELLS
    y[at.CORE_ : at.CORE_ + at.RADIATOR_CELLS] = [after_c] * at.RADIATOR_CELLS
    y[at.STUB] = outlet_c
    y[at.TANK_TOP] = y[at.TANK_BOTTOM] = tank_c
    y[at.GAS], y[at.AIR], y[at.HOLD_W] = loop.fire.gas_c, 1.0, p[at.NOMINAL_W]
    y[at.TOLD_PUMP] = y[at.CONTACT] = y[at.SPEED] = 1.0
    y[at.TOLD_DAMPER] = y[at.DAMPER] = 1.0
    y[at.TOLD_FANS] = y[at.FAN_SPEED] = p[at.HAS_RADIATOR]
    glowing_bed(y, p)
    _ready(y, p)
    return y


TUB_STARTS_BELOW_K = 12.0
"""A tub that is being heated does not settle: it starts this far below its finish."""


def _ready(y: Floats, p: Floats) -> None:
    """Slots that follow from others."""
    y[at.COLD_LEAST] = min(y[at.COLD_ : at.COLD_ + at.LINE_CELLS])
    y[at.HOT_LEAST] = min(y[at.HOT_ : at.HOT_ + at.LINE_CELLS])
    y[at.BACK_LEAST] = min(y[at.BACK_ : at.BACK_ + at.LINE_CELLS])
    y[at.LINE_LEAST] = min(y[at.COLD_LEAST], y[at.HOT_LEAST], y[at.BACK_LEAST])
    y[at.VALVE_SQUARE] = valve_square(p, y[at.STROKE])
    y[at.FLUE_GAS] = y[at.GAS]
    y[at.OUTDOOR_AIR] = p[at.OUTDOOR_C]
    y[at.SUPPLY_V] = p[at.SUPPLY_OPEN_V]
    y[at.OUTAGE_S] = math.nan
    y[at.HOTTEST_WATER] = max(y[at.WATER_ : at.WATER_ + at.COIL_CELLS])
    y[at.HOTTEST_WALL] = max(y[at.WALL_ : at.WALL_ + at.COIL_CELLS])
    if y[at.HOLD_W] == 0.0:
        y[at.HOLD_W] = -1.0
    for channel in range(at.CHANNEL_COUNT):
        truth = y[int(p[at.SOURCE_ + channel])]
        y[at.LAGGED_ + channel] = y[at.TRUE_ + channel] = y[at.SEEN_ + channel] = truth
        y[at.PLACE_ + channel] = truth
    y[at.FLOW_LPM] = pumped_lpm(p, y[at.SPEED], y[at.VALVE_SQUARE])
    y[at.PULSE_LPM] = y[at.FLOW_LPM]
    judge_afresh(y)


def judge_afresh(y: Floats) -> None:
    """Start margins, peaks, energy and witnesses from here."""
    y[at.FIRE_J : at.STEAM_J + 1] = [0.0] * (at.STEAM_J + 1 - at.FIRE_J)
    y[at.BOILED_S] = -1.0
    y[at.LEAST_BOIL_K] = y[at.LEAST_BOIL_S] = NEVER_S
    y[at.PEAK_OUTLET] = y[at.PEAK_WALL] = y[at.PEAK_TANK] = -300.0
    y[at.HELD_J] = y[at.LEAK_J] = 0.0
    y[at.PUMP_OFF_FIRE_S : at.LEAKED_L + 1] = [0.0] * (at.LEAKED_L + 1 - at.PUMP_OFF_FIRE_S)


NEVER_S = 1e9
"""Stands for a margin that was never met."""
