"""Lines, radiator and dump: chains of well mixed cells, marched like the coil.

Below 0 degC a line cell's slot holds its enthalpy as a temperature: down to minus
``ice_k`` its water is freezing at 0 degC, below that it is ice that cools.
"""

from __future__ import annotations

import math

from coilward.simulator.coil import CARRY, STAGE
from coilward.simulator.slots import (
    CELL_W_K,
    CORE_,
    CORE_J_K,
    LINE_CELLS,
    RADIATOR_CELLS,
    RADIATOR_W_K,
    STREAM_W_K,
)

Floats = list[float]

BLOCKS = 0.03
"""Share of ice at which a line passes no water; less of it narrows the line evenly
(common practice, no source)."""


def true_c(slot_c: float, ice_k: float) -> float:
    """Temperature of a line cell, degC."""
    if slot_c > 0.0:
        return slot_c
    if slot_c >= -ice_k:
        return 0.0
    return slot_c + ice_k


def line(
    y: Floats, first: int, least: int, cell_j_k: float, loss_w_k: float, ice_k: float,
    around_c: float, stream_w_k: float, h_s: float, in1_c: float, in2_c: float,
) -> tuple[float, float, float]:
    """One step of a line. Returns its outlet in both stages and its mean loss, W."""
    pace = STAGE * h_s / cell_j_k
    if y[least] <= 0.5:
        return freezing_line(
            y, first, least, cell_j_k, loss_w_k, ice_k, around_c, stream_w_k, h_s, in1_c, in2_c
        )
    s = 1.0 / (1.0 + pace * (stream_w_k + loss_w_k))
    carried = pace * stream_w_k * s
    lost = pace * loss_w_k * around_c
    total_k = 0.0
    lowest_c = 1e9
    for i in range(first, first + LINE_CELLS):
        now_c = y[i]
        first_c = (now_c + lost) * s + carried * in1_c
        last_c = (now_c + CARRY * (first_c - now_c) + lost) * s + carried * in2_c
        y[i] = last_c
        total_k += first_c + STAGE * (last_c - first_c)
        if last_c < lowest_c:
            lowest_c = last_c
        in1_c = first_c
        in2_c = last_c
    y[least] = lowest_c
    return in1_c, in2_c, loss_w_k * (total_k - LINE_CELLS * around_c)


def freezing_line(
    y: Floats, first: int, least: int, cell_j_k: float, loss_w_k: float, ice_k: float,
    around_c: float, stream_w_k: float, h_s: float, in1_c: float, in2_c: float,
) -> tuple[float, float, float]:
    """The same where a cell may hold ice: such a cell stays at its temperature in the step."""
    pace = STAGE * h_s / cell_j_k
    s = 1.0 / (1.0 + pace * (stream_w_k + loss_w_k))
    carried = pace * stream_w_k * s
    lost = pace * loss_w_k * around_c
    total_k = 0.0
    lowest_c = 1e9
    for i in range(first, first + LINE_CELLS):
        now_c = y[i]
        if now_c > 0.0:
            first_c = (now_c + lost) * s + carried * in1_c
            last_c = (now_c + CARRY * (first_c - now_c) + lost) * s + carried * in2_c
            y[i] = last_c
        else:
            first_c = true_c(now_c, ice_k)
            last_c = first_c
            gained_w = stream_w_k * (in1_c + STAGE * (in2_c - in1_c) - first_c)
            y[i] = now_c + h_s / cell_j_k * (gained_w + loss_w_k * (around_c - first_c))
        total_k += first_c + STAGE * (last_c - first_c)
        if y[i] < lowest_c:
            lowest_c = y[i]
        in1_c = first_c
        in2_c = last_c
    y[least] = lowest_c
    return in1_c, in2_c, loss_w_k * (total_k - LINE_CELLS * around_c)


def short_pipe(
    y: Floats, slot: int, pipe_j_k: float, loss_w_k: float, around_c: float, stream_w_k: float,
    h_s: float, in1_c: float, in2_c: float,
) -> tuple[float, float, float]:
    """One step of a single cell."""
    pace = STAGE * h_s / pipe_j_k
    s = 1.0 / (1.0 + pace * (stream_w_k + loss_w_k))
    lost = pace * loss_w_k * around_c
    carried = pace * stream_w_k
    now_c = y[slot]
    first_c = (now_c + lost + carried * in1_c) * s
    last_c = (now_c + CARRY * (first_c - now_c) + lost + carried * in2_c) * s
    y[slot] = last_c
    return first_c, last_c, loss_w_k * (first_c + STAGE * (last_c - first_c) - around_c)


def dump_share(conductance_w_k: float, opening: float, stream_w_k: float) -> float:
    """Share of the way to the outdoor air that the water falls in the dump."""
    if opening <= 0.0 or stream_w_k <= 0.0:
        return 0.0
    return opening * (1.0 - math.exp(-conductance_w_k / stream_w_k))


def core_cell_w_k(conductance_w_k: float, stream_w_k: float) -> float:
    """Conductance of one radiator cell, W/K.

    With it the chain of mixed cells cools flowing water by exactly 1 - exp(-UA / mc). A slow
    stream has less time for that form to hold: there it goes over into an even share of UA.
    """
    even_w_k = conductance_w_k / RADIATOR_CELLS
    if even_w_k >= stream_w_k:
        return even_w_k + 0.7182818284590451 * stream_w_k
    return stream_w_k * (math.exp(even_w_k / stream_w_k) - 1.0)


def radiator_cell_w_k(y: Floats, conductance_w_k: float, stream_w_k: float) -> float:
    """The same, kept while neither fans nor flow have changed."""
    if conductance_w_k != y[RADIATOR_W_K] or stream_w_k != y[STREAM_W_K]:
        y[RADIATOR_W_K], y[STREAM_W_K] = conductance_w_k, stream_w_k
        y[CELL_W_K] = core_cell_w_k(conductance_w_k, stream_w_k)
    return y[CELL_W_K]


def core(
    y: Floats, p: Floats, h_s: float, cell_w_k: float, room_c: float, stream_w_k: float,
    in1_c: float, in2_c: float,
) -> tuple[float, float, float]:
    """One step of the radiator. Returns its outlet in both stages and its heat to the room, W."""
    pace = STAGE * h_s / p[CORE_J_K]
    s = 1.0 / (1.0 + pace * (stream_w_k + cell_w_k))
    carried = pace * stream_w_k * s
    lost = pace * cell_w_k * room_c
    total_k = 0.0
    for i in range(CORE_, CORE_ + RADIATOR_CELLS):
        now_c = y[i]
        first_c = (now_c + lost) * s + carried * in1_c
        last_c = (now_c + CARRY * (first_c - now_c) + lost) * s + carried * in2_c
        y[i] = last_c
        total_k += first_c + STAGE * (last_c - first_c)
        in1_c = first_c
        in2_c = last_c
    return in1_c, in2_c, cell_w_k * (total_k - RADIATOR_CELLS * room_c)
