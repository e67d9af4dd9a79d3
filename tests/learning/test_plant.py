"""The plant that is held against a log: against sums by hand, and against the full simulator."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from coilward.learning.following import stepped
from coilward.learning.learned import learn
from coilward.learning.plant.downstream import LOOKED_AT, downstream
from coilward.learning.plant.upstream import upstream
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.units import US_GALLON_L
from coilward.loop.water import heat_per_lpm_k
from coilward.simulator import slots as at
from coilward.simulator.engine import can_compile
from coilward.simulator.parameters import parameters, resting
from tests.learning.made import HELD, made

TODAY = date(2026, 11, 25)
NO_LAG = [0.0, 0.0, 1.0]


def greenhouse():
    loop = read_loop("greenhouse")
    p = parameters(loop, derive(loop, TODAY), -8.0)
    return p, resting(loop, p)


def test_a_still_tank_cools_as_newton_says():
    """T = T_air + (T_0 - T_air) exp(-t / tau), tau = M c / (UA)."""
    p, y = greenhouse()
    y[at.TANK_TOP] = y[at.TANK_BOTTOM] = 60.0
    rows = 7201
    flat = [0.0] * rows
    seen = [0.0] * (LOOKED_AT * rows)
    p[at.TANK_W_K] = 40.0
    downstream(y, p, NO_LAG * 3, 1.0, rows, flat, flat, flat, flat, [8.0] * rows, flat, seen)
    tau_s = 2 * p[at.LAYER_J_K] / 40.0
    assert tau_s == pytest.approx(300.0 * 0.985 * 4186 / 40.0, rel=0.01)
    assert seen[-1] == pytest.approx(8.0 + 52.0 * np.exp(-7200 / tau_s), abs=1e-3)


def test_a_heat_that_decays_makes_a_rise_that_decays_alike():
    """A linear system answers exp(-t / tau), after its own time, with a multiple of it."""
    p, y = greenhouse()
    rows, tau_s = 3601, 1500.0
    heat = (12000.0 * np.exp(-np.arange(rows) / tau_s)).tolist()
    p[at.COLD_W_K] = p[at.STUB_W_K] = 0.0
    inlet, outlet, seen = ([0.0] * rows for _ in range(3))
    upstream(y, p, NO_LAG, 1.0, rows, [8.0] * rows, [6.0] * rows, heat, [8.0] * rows,
             [8.0] * rows, inlet, outlet, seen)  # fmt: skip
    rise = np.array(outlet) - np.array(inlet)
    slope = np.polyfit(np.arange(600, rows), np.log(rise[600:]), 1)[0]
    assert -1.0 / slope == pytest.approx(tau_s, rel=1e-3)
    carried_w = rise[600:] * 6.0 * p[at.W_PER_LPM_K]
    assert np.all((carried_w > np.array(heat[600:])) & (carried_w < 1.15 * np.array(heat[600:])))


def test_heat_is_flow_times_enthalpy():
    """15 US gal/h from 91.6 to 138.6 degF is about 1.7 kW (common practice, no source)."""
    flow_lpm = 15 * US_GALLON_L / 60
    rise_k = 47 * 5 / 9
    ours_w = heat_per_lpm_k() * flow_lpm * rise_k
    cold_k, hot_k = ((f - 32) * 5 / 9 + 273.15 for f in (91.6, 138.6))
    kg_s = PropsSI("D", "T", cold_k, "P", 101325, "Water") * flow_lpm / 60000
    enthalpy_w = kg_s * (
        PropsSI("H", "T", hot_k, "P", 101325, "Water")
        - PropsSI("H", "T", cold_k, "P", 101325, "Water")
    )
    assert ours_w == pytest.approx(enthalpy_w, rel=0.015)
    assert ours_w == pytest.approx(1700.0, rel=0.03)


@pytest.mark.skipif(not can_compile(), reason="nothing compiles here")
def test_both_engines_give_the_same_bits():
    p, y = greenhouse()
    rng = np.random.default_rng(3)
    rows = 300
    inputs = [50 + np.cumsum(rng.normal(size=rows)), rng.uniform(0, 8, rows), rng.random(rows),
              rng.random(rows), 8 + rng.random(rows), rng.random(rows) - 8]  # fmt: skip
    lag = [0.8, 0.1, 0.1] * 3
    plain, quick = [0.0] * (LOOKED_AT * rows), np.zeros(LOOKED_AT * rows)
    downstream(list(y), list(p), lag, 1.0, rows, *(each.tolist() for each in inputs), plain)
    stepped(downstream)(np.array(y), np.array(p), np.array(lag), 1.0, rows, *inputs, quick)
    assert np.array_equal(np.array(plain), quick)
    assert np.ptp(quick) > 1.0


def test_agrees_with_the_full_simulator():
    """Stated bounds: what a clean log leaves over, and the numbers that it was made with."""
    log, truth = made(4, HELD, every=1, gaps=False, clean=True)
    learned = learn(truth.file, log, TODAY)
    left = dict(zip(learned.plant.seen, learned.fit.residuals, strict=True))
    assert np.std(left["radiator_inlet"]) < 0.02
    assert np.std(left["radiator_outlet"]) < 0.06
    assert np.std(left["tank"]) < 0.02
    for key, within in (("radiator.fans_on", 0.005), ("radiator.fans_off", 0.01),
                        ("tank.water", 0.005), ("fire.decay", 0.01)):  # fmt: skip
        assert learned.number(key).value == pytest.approx(truth.numbers[key], rel=within), key
