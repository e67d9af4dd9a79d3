"""From the coil's outlet to the tank: hot leg, dump, radiator, back leg and tank.

The parts are those of the simulator. What drives them is logged: the temperature at the coil's
outlet, the flow, fans and dump, the air around. So nothing has to be known of the fire.
"""

from __future__ import annotations

from coilward.simulator.coil import STAGE
from coilward.simulator.pipes import core, dump_share, line, radiator_cell_w_k
from coilward.simulator.slots import (
    BACK_,
    BACK_ICE_K,
    BACK_J_K,
    BACK_LEAST,
    BACK_OUT,
    BACK_W_K,
    DUMP_W_K,
    FANS_OFF_W_K,
    FANS_ON_W_K,
    HAS_RADIATOR,
    HOT_,
    HOT_ICE_K,
    HOT_J_K,
    HOT_LEAST,
    HOT_OUT,
    HOT_W_K,
    IS_TUB,
    LAGGED_,
    RADIATOR_INLET,
    RADIATOR_OUTLET,
    SOURCE_,
    TANK,
    TANK_BOTTOM,
    TRUE_,
    W_PER_LPM_K,
)
from coilward.simulator.tank import bottom_slope_k_s, tank

Floats = list[float]

LOOKED_AT = 3
"""Places that are seen: the radiator's inlet, its outlet, and the tank, in this order."""


def look(y: Floats, p: Floats, lag: Floats, channel: int, place: int) -> float:
    """What a thermometer shows after a step, by its own lag."""
    truth = y[int(p[SOURCE_ + channel])]
    shown = (
        lag[3 * place] * y[LAGGED_ + channel]
        + lag[3 * place + 1] * y[TRUE_ + channel]
        + lag[3 * place + 2] * truth
    )
    y[LAGGED_ + channel] = shown
    y[TRUE_ + channel] = truth
    return shown


def downstream(
    y: Floats, p: Floats, lag: Floats, h_s: float, rows: int, outlet: Floats, flow: Floats,
    fans: Floats, dump: Floats, room: Floats, outdoor: Floats, seen: Floats,
) -> None:
    """Fill ``seen`` with what three thermometers show at every row, without their offsets.

    Inputs have one value a row, rows are ``h_s`` seconds apart: degC, L/min, shares. ``y`` is
    the plant's state at the first row, and is moved to the last. ``lag`` holds the weights of
    each thermometer's lag for one step.
    """
    seen[0] = y[LAGGED_ + RADIATOR_INLET]
    seen[1] = y[LAGGED_ + RADIATOR_OUTLET]
    seen[2] = y[LAGGED_ + TANK]
    for row in range(1, rows):
        stream_w_k = 0.5 * (flow[row - 1] + flow[row]) * p[W_PER_LPM_K]
        outdoor_c = 0.5 * (outdoor[row - 1] + outdoor[row])
        around_c = outdoor_c
        if p[IS_TUB] <= 0.0:
            around_c = 0.5 * (room[row - 1] + room[row])
        slope_k_s = bottom_slope_k_s(y, p, stream_w_k, around_c)
        drawn_c = y[TANK_BOTTOM] + 0.5 * h_s * slope_k_s
        in1_c = outlet[row - 1] + STAGE * (outlet[row] - outlet[row - 1])
        in2_c = outlet[row]
        in1_c, in2_c, _ = line(
            y, HOT_, HOT_LEAST, p[HOT_J_K], p[HOT_W_K], p[HOT_ICE_K],
            outdoor_c if p[HOT_OUT] > 0.0 else around_c, stream_w_k, h_s, in1_c, in2_c,
        )
        share = dump_share(p[DUMP_W_K], 0.5 * (dump[row - 1] + dump[row]), stream_w_k)
        in1_c -= share * (in1_c - outdoor_c)
        in2_c -= share * (in2_c - outdoor_c)
        if p[HAS_RADIATOR] > 0.0:
            fan = 0.5 * (fans[row - 1] + fans[row])
            radiator_w_k = p[FANS_OFF_W_K] + (p[FANS_ON_W_K] - p[FANS_OFF_W_K]) * fan
            cell_w_k = radiator_cell_w_k(y, radiator_w_k, stream_w_k)
            in1_c, in2_c, _ = core(y, p, h_s, cell_w_k, around_c, stream_w_k, in1_c, in2_c)
        in1_c, in2_c, _ = line(
            y, BACK_, BACK_LEAST, p[BACK_J_K], p[BACK_W_K], p[BACK_ICE_K],
            outdoor_c if p[BACK_OUT] > 0.0 else around_c, stream_w_k, h_s, in1_c, in2_c,
        )
        tank(
            y, p, h_s, stream_w_k, in1_c + STAGE * (in2_c - in1_c), drawn_c, slope_k_s, around_c
        )
        at = LOOKED_AT * row
        seen[at] = look(y, p, lag, RADIATOR_INLET, 0)
        seen[at + 1] = look(y, p, lag, RADIATOR_OUTLET, 1)
        seen[at + 2] = look(y, p, lag, TANK, 2)
