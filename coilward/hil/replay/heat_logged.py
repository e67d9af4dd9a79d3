"""The heat of a logged fire, second by second: by balance where flow was proven, else held.

What reaches the water is flow times rise; what warms the coil is added to it. Divided by the air
that the damper let in, it is the heat that the fire would have given with the damper open: so a
damper that another logic shuts, or doesn't, acts on it with the plant's own decay.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.ndimage import gaussian_filter1d

from coilward.hil.replay.health import FRESH_S
from coilward.hil.replay.logged import Logged, Numbers, outlet_c
from coilward.loop.model import Loop
from coilward.simulator import slots as at
from coilward.simulator.actuators import AIR_OPENS_S

BLUR_S: Final = 5.0
"""Standard deviation of the bell over which outlet and tank are averaged."""
FLUSHED_S: Final = 60.0
"""From the moment at which water moves again a rise says nothing of the fire for so long."""
STOPS_S: Final = 5
"""Before water is seen to stand its flow has fallen for so long already."""
LEAST_S: Final = 20.0
"""A stretch of proven flow that is shorter tells nothing."""
LEAST_AIR: Final = 0.1
"""With less air, what a fire would give with the damper open is not told by what it gives."""
MOST: Final = 2.0
"""Of the loop's largest heat: nothing over it is believed."""


def proven(ticks: Logged, loop: Loop) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """In which ticks the meter proves that water moves and the rise is known."""
    came = ticks.readings
    moves = (came["flow_lpm"] >= loop.meter.lowest_lpm) & (came["pulse_age_s"] <= FRESH_S)
    known = np.isfinite(outlet_c(came)) & np.isfinite(came["tank_c"])
    return np.asarray(moves & known & (ticks.told["pump"] > 0.0) & (ticks.meter_dead == 0))


def air_of(shut: Numbers, p: list[float], begins: float) -> Numbers:
    """Share of the air behind the damper, a row a second; ``shut`` is 1 where it is shut."""
    keeps = np.exp(-1.0 / np.where(shut > 0.5, p[at.DECAY_S], AIR_OPENS_S))
    goal = np.where(shut > 0.5, p[at.GAS_LEAK], 1.0)
    air = np.empty(len(shut))
    now = begins
    for row in range(len(shut)):
        air[row] = now
        now = goal[row] + (now - goal[row]) * keeps[row]
    return air


def open_heat_w(
    seconds: Logged, loop: Loop, p: list[float], air: Numbers
) -> tuple[Numbers, Numbers]:
    """The heat with the damper open, W, at every second, and 1 where it was measured there.

    ``seconds`` has one row a second. Between two measured stretches it is taken as even, before
    the first and after the last as held; NaN where there is none at all.
    """
    full_w = np.full(len(air), np.nan)
    flowing = proven(seconds, loop)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flowing, [False])).astype(np.int8)))
    for begin, end in edges.reshape(-1, 2).tolist():
        first = begin + (int(FLUSHED_S) if begin > 0 else 0)
        end -= STOPS_S if end < len(air) else 0
        if end - first >= LEAST_S:
            full_w[first:end] = _balance_w(seconds.cut(begin, end - 1), loop, p)[first - begin :]
    full_w[air < LEAST_AIR] = np.nan
    full_w = np.clip(full_w / air, 0.0, MOST * 1e3 * loop.fire.largest_kw)
    known = np.flatnonzero(np.isfinite(full_w))
    measured = np.isfinite(full_w).astype(float)
    if len(known):
        full_w = np.interp(np.arange(len(air)), known, full_w[known])
    return full_w, measured


def _balance_w(seconds: Logged, loop: Loop, p: list[float]) -> Numbers:
    """Heat into the coil's metal while water moves, W."""
    came, sensors = seconds.readings, loop.sensors
    outlet, outlet_k_s = _true_c(outlet_c(came), sensors.coil_outlet_a.lag_s)
    tank, _ = _true_c(came["tank_c"], sensors.tank.lag_s)
    outlet -= p[at.OFFSET_K_ + at.OUTLET_A]
    tank -= p[at.OFFSET_K_ + at.TANK]
    flow_lpm = gaussian_filter1d(came["flow_lpm"], BLUR_S, mode="nearest")
    stream_w_k = np.maximum(flow_lpm, loop.meter.lowest_lpm) * p[at.W_PER_LPM_K]
    rows = np.arange(len(tank), dtype=float)
    late_s = at.LINE_CELLS * p[at.COLD_J_K] / stream_w_k
    inlet = np.interp(rows - late_s, rows, tank)
    around_c = p[at.OUTDOOR_C] if p[at.COLD_OUT] > 0.0 else loop.room.air_c
    inlet -= (inlet - around_c) * (1.0 - np.exp(-at.LINE_CELLS * p[at.COLD_W_K] / stream_w_k))
    stored_w = p[at.STUB_J_K] * outlet_k_s
    stored_w += 0.5 * p[at.COIL_J_K] * (outlet_k_s + np.gradient(inlet))
    balance: Numbers = stream_w_k * (outlet - inlet) + stored_w
    return balance


def _true_c(seen_c: Numbers, lag_s: float) -> tuple[Numbers, Numbers]:
    """What a thermometer's place had, and its slope, K/s, from what it showed."""
    even_c = gaussian_filter1d(seen_c, BLUR_S, mode="nearest")
    slope_k_s = gaussian_filter1d(seen_c, BLUR_S, order=1, mode="nearest")
    return even_c + lag_s * slope_k_s, slope_k_s
