"""The tank in two layers, and the room around it.

The layers are of one size; when the level falls, both shrink.
"""

from __future__ import annotations

from coilward.simulator.slots import (
    LAYER_J_K,
    LAYERS_W_K,
    LEAK_J,
    LEAK_LPM,
    LEAKED_L,
    LEVEL_NOW,
    ROOM_AIR,
    ROOM_J_K,
    ROOM_W_K,
    SPILT_LPM,
    TANK_BOTTOM,
    TANK_L,
    TANK_TOP,
    TANK_W_K,
)

Floats = list[float]

OVERTURN_W_K2 = 500.0
"""Mixing when the lower layer is the warmer one, W/K for each kelvin."""
LEAST_LEVEL = 0.01
"""What stays in a tank that has run out."""


def between_w(p: Floats, top_c: float, bottom_c: float) -> float:
    """Heat from the upper to the lower layer without through-flow, W."""
    mixing_w_k = p[LAYERS_W_K]
    if bottom_c > top_c:
        mixing_w_k += OVERTURN_W_K2 * (bottom_c - top_c)
    return mixing_w_k * (top_c - bottom_c)


def bottom_slope_k_s(y: Floats, p: Floats, stream_w_k: float, around_c: float) -> float:
    """Slope of the lower layer, from which the loop draws, K/s."""
    top_c, bottom_c = y[TANK_TOP], y[TANK_BOTTOM]
    gained_w = stream_w_k * (top_c - bottom_c) + between_w(p, top_c, bottom_c)
    lost_w = 0.5 * p[TANK_W_K] * (bottom_c - around_c)
    return (gained_w - lost_w) / (p[LAYER_J_K] * y[LEVEL_NOW])


def tank(
    y: Floats, p: Floats, h_s: float, stream_w_k: float, in_c: float, drawn_c: float,
    slope_k_s: float, around_c: float,
) -> float:
    """One step: water enters on top with ``in_c`` and leaves below with ``drawn_c``.

    ``slope_k_s`` is the lower layer's at the start. Returns the mean loss, W.
    """
    loss_w_k = 0.5 * p[TANK_W_K]
    layer_j_k = p[LAYER_J_K] * y[LEVEL_NOW]
    top_c, bottom_c = y[TANK_TOP], y[TANK_BOTTOM]
    top_w = (
        stream_w_k * (in_c - top_c) - between_w(p, top_c, bottom_c) - loss_w_k * (top_c - around_c)
    )
    half_s = 0.5 * h_s
    top_mid_c = top_c + half_s * top_w / layer_j_k
    bottom_mid_c = bottom_c + half_s * slope_k_s
    down_w = between_w(p, top_mid_c, bottom_mid_c)
    top_lost_w = loss_w_k * (top_mid_c - around_c)
    bottom_lost_w = loss_w_k * (bottom_mid_c - around_c)
    pace = h_s / layer_j_k
    y[TANK_TOP] = top_c + pace * (stream_w_k * (in_c - top_mid_c) - down_w - top_lost_w)
    y[TANK_BOTTOM] = bottom_c + pace * (
        stream_w_k * (top_mid_c - drawn_c) + down_w - bottom_lost_w
    )
    return top_lost_w + bottom_lost_w


def drain(y: Floats, p: Floats, h_s: float) -> None:
    """One step of what leaks below and of what a hose that is off spills.

    Water leaves with the lower layer's heat. Half as much sinks from the upper into the lower
    layer, so that both stay of one size.
    """
    was = y[LEVEL_NOW]
    now = was - (p[LEAK_LPM] + y[SPILT_LPM]) * h_s / (60.0 * p[TANK_L])
    if now < LEAST_LEVEL:
        now = LEAST_LEVEL if was > LEAST_LEVEL else was
    out = was - now
    out_j_k = 2.0 * out * p[LAYER_J_K]
    y[LEAK_J] += out_j_k * y[TANK_BOTTOM]
    y[TANK_BOTTOM] += (
        0.5 * out_j_k * (y[TANK_TOP] - y[TANK_BOTTOM]) / (p[LAYER_J_K] * now)
    )
    y[LEVEL_NOW] = now
    y[LEAKED_L] += out * p[TANK_L]


def room(y: Floats, p: Floats, h_s: float, heat_w: float, outdoor_c: float) -> None:
    """One step of the room's air, by its midpoint."""
    lost_w_k = p[ROOM_W_K]
    half = 0.5 * h_s / p[ROOM_J_K] * (heat_w - lost_w_k * (y[ROOM_AIR] - outdoor_c))
    middle_c = y[ROOM_AIR] + half
    y[ROOM_AIR] += h_s / p[ROOM_J_K] * (heat_w - lost_w_k * (middle_c - outdoor_c))
