"""The coil in the fire: cells of metal and water, marched in the direction of flow.

Each step is the two-stage, L-stable, stiffly accurate SDIRK method of order two, whose
implicit stages can be solved cell by cell because water only carries heat downstream.
"""

from __future__ import annotations

from coilward.simulator.slots import (
    BOIL_C,
    BOILED_S,
    BOILING_STILL_S,
    COIL_CELLS,
    DRY,
    FILM_,
    FILM_POINTS,
    FILM_STEP_LPM,
    HELD_CAP_W,
    HELD_FROM_C,
    HELD_J,
    HELD_W,
    HOTTEST_WALL,
    HOTTEST_WATER,
    STEAM_J,
    VIEW_,
    WALL_,
    WALL_J_K,
    WATER_,
    WATER_J_K,
)

Floats = list[float]

STAGE = 0.2928932188134524
"""1 - 1/sqrt(2): place of the first stage, and weight of the second."""
CARRY = 2.414213562373095
"""(1 - STAGE) / STAGE: how far the second stage starts along the first."""
DRY_AFTER_S = 1.0
WETS_LPM = 0.5
HOLDS_FULLY_K = 5.0
"""Over its opening temperature a quench coil or gravity dump takes all that it can (common
practice, no source)."""


def film_w_k(p: Floats, flow_lpm: float) -> float:
    """Film of one cell, W/K, from the table."""
    place = flow_lpm / p[FILM_STEP_LPM]
    if place >= FILM_POINTS - 1:
        return p[FILM_ + FILM_POINTS - 1]
    left = int(place)
    low = p[FILM_ + left]
    return low + (place - left) * (p[FILM_ + left + 1] - low)


def coil(
    y: Floats, p: Floats, h_s: float, heat_w: float, heat_w_k: float, stream_w_k: float,
    film: float, in1_c: float, in2_c: float,
) -> tuple[float, float, float]:
    """One step; water enters with ``in1_c`` in the first stage and ``in2_c`` in the second.

    Returns the outlet in both stages and the mean heat into the metal, W.
    """
    wall_s = STAGE * h_s / p[WALL_J_K]
    water_s = STAGE * h_s / p[WATER_J_K]
    to_water = wall_s * film
    from_wall = water_s * film
    carried = water_s * stream_w_k
    diagonal = 1.0 + from_wall + carried
    taken_w = 0.0
    hottest_wall = -300.0
    hottest_water = -300.0
    for i in range(COIL_CELLS):
        view = p[VIEW_ + i]
        wall, water = y[WALL_ + i], y[WATER_ + i]
        heated = wall_s * heat_w * view
        a = 1.0 + to_water + wall_s * heat_w_k * view
        # Each stage is a two-by-two system in wall and water; r is over its determinant.
        r = 1.0 / (a * diagonal - from_wall * to_water)
        down = r * a * carried
        base = wall + heated
        water1 = r * (a * water + from_wall * base) + down * in1_c
        wall1 = r * (diagonal * base + to_water * (water + carried * in1_c))
        base = wall + CARRY * (wall1 - wall) + heated
        begun = water + CARRY * (water1 - water)
        water2 = r * (a * begun + from_wall * base) + down * in2_c
        wall2 = r * (diagonal * base + to_water * (begun + carried * in2_c))
        y[WALL_ + i] = wall2
        y[WATER_ + i] = water2
        taken_w += view * (heat_w - heat_w_k * (wall1 + STAGE * (wall2 - wall1)))
        if wall2 > hottest_wall:
            hottest_wall = wall2
        if water2 > hottest_water:
            hottest_water = water2
        in1_c = water1
        in2_c = water2
    y[HOTTEST_WALL] = hottest_wall
    y[HOTTEST_WATER] = hottest_water
    return in1_c, in2_c, taken_w


def hold(y: Floats, p: Floats, h_s: float) -> None:
    """One step of a quench coil or a gravity dump, which needs no pump and no power.

    Each cell gives in proportion to its excess, and at most its share of the whole by its share
    of the flux, so that a device that carries the fire holds its hottest turn too. Implicit, so
    that a long step takes no more than there is.
    """
    taken_j = 0.0
    hottest_c = -300.0
    for i in range(COIL_CELLS):
        over_k = y[WATER_ + i] - p[HELD_FROM_C]
        if over_k > 0.0 and y[DRY] <= 0.0:
            most_w = p[HELD_CAP_W] * p[VIEW_ + i] / COIL_CELLS
            pace = h_s * most_w / (HOLDS_FULLY_K * p[WATER_J_K])
            left_k = over_k / (1.0 + pace)
            if left_k > HOLDS_FULLY_K:
                left_k = over_k - HOLDS_FULLY_K * pace
            y[WATER_ + i] = p[HELD_FROM_C] + left_k
            taken_j += p[WATER_J_K] * (over_k - left_k)
        if y[WATER_ + i] > hottest_c:
            hottest_c = y[WATER_ + i]
    y[HOTTEST_WATER] = hottest_c
    y[HELD_W] = taken_j / h_s
    y[HELD_J] += taken_j


def boil(y: Floats, p: Floats, h_s: float, end_s: float, before_c: float, flow_lpm: float) -> None:
    """Notes the first boil; from then on holds the water at boiling and counts the steam.

    What follows the first boil is indicative only: after a second of boiling without flow the
    coil counts as dry, until water moves again.
    """
    boil_c = p[BOIL_C]
    hottest_c = y[HOTTEST_WATER]
    if hottest_c >= boil_c:
        if y[BOILED_S] < 0.0:
            y[BOILED_S] = end_s - h_s * (hottest_c - boil_c) / (hottest_c - before_c)
        for i in range(COIL_CELLS):
            over_k = y[WATER_ + i] - boil_c
            if over_k > 0.0:
                y[STEAM_J] += p[WATER_J_K] * over_k
                y[WATER_ + i] = boil_c
        y[HOTTEST_WATER] = boil_c
        if flow_lpm < WETS_LPM:
            y[BOILING_STILL_S] += h_s
            if y[BOILING_STILL_S] >= DRY_AFTER_S:
                y[DRY] = 1.0
    if flow_lpm >= WETS_LPM:
        y[BOILING_STILL_S] = 0.0
        y[DRY] = 0.0
