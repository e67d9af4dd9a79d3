"""One step of the whole plant, of any length, in the order in which water passes its parts."""

from __future__ import annotations

from coilward.simulator.actuators import (
    LEAST_V,
    damper,
    dump_valve,
    fans,
    pump_target,
    supply_v,
    valve,
)
from coilward.simulator.coil import STAGE, boil, coil, film_w_k
from coilward.simulator.fire import fire
from coilward.simulator.hydraulics import pumped_lpm
from coilward.simulator.pipes import (
    BLOCKS,
    core,
    core_cell_w_k,
    dump_share,
    line,
    short_pipe,
    true_c,
)
from coilward.simulator.slots import (
    AIR,
    BACK_,
    BACK_ICE_K,
    BACK_J_K,
    BACK_LEAST,
    BACK_OUT,
    BACK_W_K,
    BACKLASH,
    BOIL_C,
    BOILED_S,
    COIL_CELLS,
    COIL_J_K,
    COLD_,
    COLD_ICE_K,
    COLD_J_K,
    COLD_LEAST,
    COLD_OUT,
    COLD_W_K,
    CONTACT,
    CORE_,
    DAMPER_ASKED_S,
    DAMPER_STUCK,
    DRIFT_K_S,
    DRY,
    DUMP_ASKED_S,
    DUMP_J,
    DUMP_STUCK,
    DUMP_W,
    DUMP_W_K,
    FADE_,
    FADES,
    FANS_OFF_W_K,
    FANS_ON_W_K,
    FANS_RUN_S,
    FIRE_J,
    FIRE_W,
    FLOW_LPM,
    FLOW_S,
    FLUE_GAS,
    GAS,
    HAS_RADIATOR,
    HEAT_S,
    HOT_,
    HOT_ICE_K,
    HOT_J_K,
    HOT_LEAST,
    HOT_OUT,
    HOT_W_K,
    HOTTEST_WALL,
    HOTTEST_WATER,
    IS_TUB,
    LEAST_BOIL_K,
    LEAST_BOIL_S,
    LINE_BLOCKED,
    LINE_CELLS,
    LINE_LEAST,
    LINES_J,
    LOSS_W,
    MOTOR,
    MOVING,
    NOMINAL_W,
    OUTDOOR_C,
    PASSING,
    PEAK,
    PEAK_OUTLET,
    PEAK_TANK,
    PEAK_WALL,
    PUMP_OFF_FIRE_S,
    PUMP_RUN_S,
    RATE_K_S,
    RATED_V,
    ROOM_AIR,
    ROOM_J,
    ROOM_W,
    SPEED,
    STROKE,
    STUB,
    STUB_J_K,
    STUB_W_K,
    SUPPLY_V,
    TANK_BOTTOM,
    TANK_J,
    TANK_TOP,
    TOLD_DAMPER,
    TOLD_DUMP,
    TOLD_FANS,
    TOLD_VALVE,
    UNSETTLED_S,
    VALVE_ASKED_S,
    VALVE_SQUARE,
    W_PER_LPM_K,
    WALL_,
    WATER_,
    WATER_W,
)
from coilward.simulator.tank import bottom_slope_k_s, room, tank

Floats = list[float]

LAST = COIL_CELLS - 1
TURNS, SPINS = 1.0, 2.0
"""The valve moves; the pump changes its speed, or ice its share of the flow."""
SPEED_SETTLED = 0.002
FLUE_SHARE = 0.5
"""Of the gas temperature over the outdoor air, at the flue's thermometer."""
LOW_HEAT, SMALL_HEAT = 0.01, 0.05
"""Shares of the nominal heat: as good as none, and a fire that may not be left without water."""
MOVES_LPM = 0.5


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
    target = pump_target(y, p, y[SUPPLY_V])
    half = p[FADE_ + FADES * n + 4]
    speed, square, flow_lpm = y[SPEED], y[VALVE_SQUARE], y[FLOW_LPM]
    speed_mid = target + (y[SPEED] - target) * half
    y[SPEED] = target + (speed_mid - target) * half
    square_mid = valve(y, p, h_s)
    y[MOVING] = 0.0
    if abs(y[SPEED] - target) > SPEED_SETTLED:
        y[MOVING] = SPINS
    elif y[MOTOR] != y[TOLD_VALVE] and y[SUPPLY_V] >= LEAST_V * p[RATED_V]:
        y[MOVING] = TURNS
    was_open, y[PASSING] = y[PASSING], passing(y, p)
    if y[PASSING] > 0.0 and y[PASSING] < 1.0:
        y[MOVING] = SPINS
    unchanged = y[SPEED] == speed and y[VALVE_SQUARE] == square and square_mid == square
    if unchanged and was_open == 1.0 and y[PASSING] == 1.0:
        return flow_lpm
    y[FLOW_LPM] = y[PASSING] * pumped_lpm(p, y[SPEED], y[VALVE_SQUARE])
    return y[PASSING] * pumped_lpm(p, speed_mid, square_mid)


def step(y: Floats, p: Floats, n: int, h_s: float, end_s: float) -> None:
    """``h_s`` seconds up to ``end_s``; ``n`` is the row of the fade table for that length."""
    fan_mid = fans(y, p, n)
    dump_mid = dump_valve(y, p, n)
    air = y[AIR]
    air_mid = damper(y, p, n, h_s)
    flow_mid = flows(y, p, n, h_s, fan_mid)
    stream_w_k = flow_mid * p[W_PER_LPM_K]
    outdoor_c = p[OUTDOOR_C]
    around_c = y[ROOM_AIR]
    wall_c = 0.25 * (y[WALL_] + y[WALL_ + 2] + y[WALL_ + 5] + y[WALL_ + 7])
    heat_w, heat_w_k = fire(y, p, h_s, wall_c, air, air_mid, y[AIR])

    slope_k_s = bottom_slope_k_s(y, p, stream_w_k, around_c)
    in1_c = y[TANK_BOTTOM] + STAGE * h_s * slope_k_s
    in2_c = y[TANK_BOTTOM] + h_s * slope_k_s
    drawn_c = in1_c + STAGE * (in2_c - in1_c)
    in1_c, in2_c, cold_w = line(
        y, COLD_, COLD_LEAST, p[COLD_J_K], p[COLD_W_K], p[COLD_ICE_K],
        outdoor_c if p[COLD_OUT] > 0.0 else around_c, stream_w_k, h_s, in1_c, in2_c,
    )
    before_c = y[HOTTEST_WATER]
    outlet_c = y[STUB]
    last_wall_c, last_water_c = y[WALL_ + LAST], y[WATER_ + LAST]
    last_hot_c, first_core_c = y[HOT_ + LINE_CELLS - 1], y[CORE_]
    film = 0.0 if y[DRY] > 0.0 else film_w_k(p, flow_mid)
    in_c = in1_c + STAGE * (in2_c - in1_c)
    in1_c, in2_c, fire_w = coil(y, p, h_s, heat_w, heat_w_k, stream_w_k, film, in1_c, in2_c)
    water_w = stream_w_k * (in1_c + STAGE * (in2_c - in1_c) - in_c)
    hot_around_c = outdoor_c if p[HOT_OUT] > 0.0 else around_c
    in1_c, in2_c, stub_w = short_pipe(
        y, STUB, p[STUB_J_K], p[STUB_W_K], hot_around_c, stream_w_k, h_s, in1_c, in2_c
    )
    in1_c, in2_c, hot_w = line(
        y, HOT_, HOT_LEAST, p[HOT_J_K], p[HOT_W_K], p[HOT_ICE_K],
        hot_around_c, stream_w_k, h_s, in1_c, in2_c,
    )
    share = dump_share(p[DUMP_W_K], dump_mid, stream_w_k)
    dump_w = stream_w_k * share * (in1_c + STAGE * (in2_c - in1_c) - outdoor_c)
    in1_c -= share * (in1_c - outdoor_c)
    in2_c -= share * (in2_c - outdoor_c)
    room_w = 0.0
    if p[HAS_RADIATOR] > 0.0:
        radiator_w_k = p[FANS_OFF_W_K] + (p[FANS_ON_W_K] - p[FANS_OFF_W_K]) * fan_mid
        in1_c, in2_c, room_w = core(
            y, p, h_s, core_cell_w_k(radiator_w_k, stream_w_k), around_c, stream_w_k, in1_c, in2_c
        )
    in1_c, in2_c, back_w = line(
        y, BACK_, BACK_LEAST, p[BACK_J_K], p[BACK_W_K], p[BACK_ICE_K],
        outdoor_c if p[BACK_OUT] > 0.0 else around_c, stream_w_k, h_s, in1_c, in2_c,
    )
    tank_w = tank(
        y, p, h_s, stream_w_k, in1_c + STAGE * (in2_c - in1_c), drawn_c, slope_k_s, around_c
    )
    indoors_w = room_w + tank_w
    if p[COLD_OUT] <= 0.0:
        indoors_w += cold_w
    if p[HOT_OUT] <= 0.0:
        indoors_w += stub_w + hot_w
    if p[BACK_OUT] <= 0.0:
        indoors_w += back_w
    if p[IS_TUB] > 0.0:
        y[ROOM_AIR] = outdoor_c
    else:
        room(y, p, h_s, indoors_w, outdoor_c)
    boil(y, p, h_s, end_s, before_c, flow_mid)
    paces(y, h_s, outlet_c, last_wall_c, last_water_c, last_hot_c, first_core_c)
    y[UNSETTLED_S] -= h_s
    y[FLUE_GAS] = outdoor_c + FLUE_SHARE * (y[GAS] - outdoor_c)
    coldest_outdoors(y, p)
    lines_w = cold_w + stub_w + hot_w + back_w
    account(y, h_s, fire_w, water_w, room_w, dump_w, lines_w, tank_w)
    judge(y, p)
    witness(y, p, h_s)


def paces(
    y: Floats, h_s: float, outlet_c: float, wall_c: float, water_c: float, hot_c: float,
    core_c: float,
) -> None:
    """How fast the step went, from what was before it.

    The rate is the outlet's, or the last wall's against its water: it asks for short steps. The
    drift is that of anything: it asks not to be left behind for long.
    """
    outlet_k_s = abs(y[STUB] - outlet_c) / h_s
    wall_k_s = abs(y[WALL_ + LAST] - wall_c) / h_s
    film_k_s = abs(y[WALL_ + LAST] - wall_c - (y[WATER_ + LAST] - water_c)) / h_s
    hot_k_s = abs(y[HOT_ + LINE_CELLS - 1] - hot_c) / h_s
    core_k_s = abs(y[CORE_] - core_c) / h_s
    y[RATE_K_S] = outlet_k_s if outlet_k_s > film_k_s else film_k_s
    drift_k_s = wall_k_s if wall_k_s > y[RATE_K_S] else y[RATE_K_S]
    if hot_k_s > drift_k_s:
        drift_k_s = hot_k_s
    y[DRIFT_K_S] = core_k_s if core_k_s > drift_k_s else drift_k_s


def coldest_outdoors(y: Floats, p: Floats) -> None:
    """The coldest outdoor pipe; the coldest of all where none is outdoors."""
    nothing_out = p[COLD_OUT] + p[HOT_OUT] + p[BACK_OUT] <= 0.0
    least_c = 1e9
    if p[COLD_OUT] > 0.0 or nothing_out:
        least_c = true_c(y[COLD_LEAST], p[COLD_ICE_K])
    if p[HOT_OUT] > 0.0 or nothing_out:
        hot_c = true_c(y[HOT_LEAST], p[HOT_ICE_K])
        if hot_c < least_c:
            least_c = hot_c
    if p[BACK_OUT] > 0.0 or nothing_out:
        back_c = true_c(y[BACK_LEAST], p[BACK_ICE_K])
        if back_c < least_c:
            least_c = back_c
    y[LINE_LEAST] = least_c


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
    if y[CONTACT] > 0.0:
        y[PUMP_RUN_S] += h_s
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
