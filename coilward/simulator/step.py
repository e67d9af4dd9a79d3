"""One step of the whole plant, of any length, in the order in which water passes its parts."""

from __future__ import annotations

from coilward.simulator.actuators import damper, dump_valve, fans
from coilward.simulator.coil import STAGE, boil, coil, film_w_k, hold
from coilward.simulator.fire import fire, gust
from coilward.simulator.flowing import flows
from coilward.simulator.pipes import core, dump_share, line, radiator_cell_w_k, short_pipe, true_c
from coilward.simulator.slots import (
    AIR,
    BACK_,
    BACK_ICE_K,
    BACK_J_K,
    BACK_LEAST,
    BACK_OUT,
    BACK_W_K,
    COIL_CELLS,
    COLD_,
    COLD_ICE_K,
    COLD_J_K,
    COLD_LEAST,
    COLD_OUT,
    COLD_W_K,
    CORE_,
    DRIFT_K_S,
    DRY,
    DUMP_W_K,
    FANS_OFF_W_K,
    FANS_ON_W_K,
    FILM_SHARE,
    FLUE_ADDS_K,
    FLUE_GAS,
    GAS,
    GUST,
    HAS_RADIATOR,
    HELD_CAP_W,
    HELD_W,
    HOT_,
    HOT_ICE_K,
    HOT_J_K,
    HOT_LEAST,
    HOT_OUT,
    HOT_W_K,
    HOTTEST_WATER,
    IS_TUB,
    LEAK_LPM,
    LINE_CELLS,
    LINE_LEAST,
    OUTDOOR_AIR,
    OUTDOOR_C,
    RATE_K_S,
    ROOM_AIR,
    SPILT_LPM,
    STUB,
    STUB_J_K,
    STUB_W_K,
    TANK_BOTTOM,
    UNSETTLED_S,
    W_PER_LPM_K,
    WALL_,
    WATER_,
)
from coilward.simulator.tank import bottom_slope_k_s, drain, room, tank
from coilward.simulator.witness import account, judge, witness

Floats = list[float]

LAST = COIL_CELLS - 1
FLUE_SHARE = 0.5
"""Of the gas temperature over the outdoor air, at the flue's thermometer."""


def step(y: Floats, p: Floats, n: int, h_s: float, end_s: float) -> None:
    """``h_s`` seconds up to ``end_s``; ``n`` is the row of the fade table for that length."""
    fan_mid = fans(y, p, n)
    dump_mid = dump_valve(y, p, n)
    air = y[AIR]
    air_mid = damper(y, p, n, h_s)
    flow_mid = flows(y, p, n, h_s, fan_mid)
    stream_w_k = flow_mid * p[W_PER_LPM_K]
    outdoor_c = p[OUTDOOR_C]
    y[OUTDOOR_AIR] = outdoor_c
    around_c = y[ROOM_AIR]
    wall_c = 0.25 * (y[WALL_] + y[WALL_ + 2] + y[WALL_ + 5] + y[WALL_ + 7])
    air_end = y[AIR]
    if p[GUST] > 0.0:
        blown = gust(p, end_s - 0.5 * h_s)
        air, air_mid, air_end = blown * air, blown * air_mid, blown * air_end
    heat_w, heat_w_k = fire(y, p, h_s, wall_c, air, air_mid, air_end)

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
    film = 0.0 if y[DRY] > 0.0 else p[FILM_SHARE] * film_w_k(p, flow_mid)
    in_c = in1_c + STAGE * (in2_c - in1_c)
    in1_c, in2_c, fire_w = coil(y, p, h_s, heat_w, heat_w_k, stream_w_k, film, in1_c, in2_c)
    water_w = stream_w_k * (in1_c + STAGE * (in2_c - in1_c) - in_c)
    if p[HELD_CAP_W] > 0.0 or y[HELD_W] > 0.0:
        hold(y, p, h_s)
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
        cell_w_k = radiator_cell_w_k(y, radiator_w_k, stream_w_k)
        in1_c, in2_c, room_w = core(
            y, p, h_s, cell_w_k, around_c, stream_w_k, in1_c, in2_c
        )
    in1_c, in2_c, back_w = line(
        y, BACK_, BACK_LEAST, p[BACK_J_K], p[BACK_W_K], p[BACK_ICE_K],
        outdoor_c if p[BACK_OUT] > 0.0 else around_c, stream_w_k, h_s, in1_c, in2_c,
    )
    tank_w = tank(
        y, p, h_s, stream_w_k, in1_c + STAGE * (in2_c - in1_c), drawn_c, slope_k_s, around_c
    )
    if p[LEAK_LPM] > 0.0 or y[SPILT_LPM] > 0.0:
        drain(y, p, h_s)
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
    y[FLUE_GAS] = outdoor_c + FLUE_SHARE * (y[GAS] - outdoor_c) + p[FLUE_ADDS_K]
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
