"""Hand-made recordings: a steady burn, and what may go wrong in it."""

from __future__ import annotations

import numpy as np

from coilward.proving.requirements import Signals

SAMPLES = 57600
"""Four hours at 0.25 s."""


def steady(bounds, samples=SAMPLES, seed=1):
    """A quiet burn: everything moves a little, nothing is near a limit."""
    random = np.random.default_rng(seed)

    def about(level, by):
        return level + by * np.sin(np.arange(samples) / 997.0) + 0.01 * random.normal(size=samples)

    outlet_c = about(60.0, 3.0)
    ones, zeros = np.ones(samples), np.zeros(samples)
    return Signals(
        time_s=bounds.tick_s * np.arange(samples), water_c=outlet_c + 1.0, wall_c=outlet_c + 6.0,
        outlet_c=outlet_c, tank_c=about(30.0, 3.0), flow_lpm=about(3.0, 0.4),
        heat_w=about(5000.0, 500.0), supply_v=about(12.6, 0.1), pump=ones.copy(),
        valve=np.floor(10 * about(0.7, 0.1)) / 10, damper=ones.copy(), dump=zeros.copy(),
        fans=ones.copy(), horn=zeros.copy(), phase=4.0 * ones, awake=ones.copy(),
        outlet_a_seen_c=60.0 * ones, outlet_b_seen_c=60.5 * ones, tank_seen_c=30.0 * ones,
        radiator_outlet_seen_c=28.0 * ones, raised=zeros.copy(),
    )  # fmt: skip


def changed(signals, at, until=None, **levels):
    """The same with some signals at other levels from one sample on, up to another."""
    pieces = {}
    for name, level in levels.items():
        pieces[name] = getattr(signals, name).copy()
        pieces[name][at:until] = level
    return signals._replace(**pieces)


COOLING = {"valve": 1.0, "damper": 0.0, "dump": 1.0, "horn": 3.0}
"""Everything that cools, and the horn."""


def burns(bounds):
    """Burns of four hours, from the cheapest to those in which every condition has to be asked."""
    quiet = steady(bounds)
    half = SAMPLES // 2
    stood = changed(quiet, half, flow_lpm=0.0)
    answered = changed(stood, half + 6, **COOLING)
    hot = changed(quiet, half, half + 8000, outlet_c=bounds.outlet_hot_c + 2.0,
                  tank_c=bounds.tank_hot_c + 1.0)  # fmt: skip
    dumps, busy = changed(hot, half + 20, half + 8000, **COOLING), quiet
    for at in range(2000, SAMPLES - 2000, 2000):
        busy = changed(busy, at, at + 16, flow_lpm=0.2)
        busy = changed(busy, at + 8, at + 900, **COOLING)
        busy = changed(busy, at + 300, at + 900, outlet_c=bounds.outlet_hot_c + 1.0)
        busy = changed(busy, at + 500, at + 506, awake=0.0)
        busy = changed(busy, at + 4, at + 8, pump=0.0)
    return {
        "quiet": quiet,
        "water stands": answered,
        "locked off": changed(answered, half + 90, pump=0.0),
        "too hot, dumped": dumps,
        "28 times everything": busy,
    }
