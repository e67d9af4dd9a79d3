"""The pump dies at steady state: seen in time by flow or current, retried, then locked off."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from coilward.controller.phases import DRY, NO_FLOW
from coilward.loop.document import read_loop
from coilward.simulator.night import read_night
from coilward.simulator.rehearsal import rehearse

TODAY = date(2026, 11, 25)
LOOPS = ("boathouse", "greenhouse", "hot-tub")
SEEN_BY = {"C01", "C02"}


@pytest.fixture(scope="module", params=LOOPS)
def lost(request):
    """The night on which the pump dies, and when it does."""
    night = read_night("pump-dies")
    died_s = next(m.at_s for m in night.moment if m.fault == "pump-dies")
    return rehearse(read_loop(request.param), night, today=TODAY), died_s


def test_seen_by_flow_or_current_within_the_deadline(lost):
    run, died_s = lost
    first = min(run.causes, key=lambda cause: cause.time_s)
    assert first.name in SEEN_BY
    assert first.first_out
    quarter_s = min(3.0, run.derived.boil_s.largest.peaked / 4)
    assert first.time_s - died_s <= min(quarter_s, run.derived.low_flow_total_s)


def test_the_outlet_thermometer_is_never_credited(lost):
    """Common practice, no source: a thermometer beside standing water does not tell."""
    run, _ = lost
    locked_s = next(time_s for time_s, name in run.phases if name == "dry lock-out")
    named = {cause.name for cause in run.causes if cause.time_s <= locked_s}
    assert named <= SEEN_BY | {"C11"}


def test_in_the_same_tick_everything_that_cools_is_told(lost):
    run, _ = lost
    faulted = run.trace["phase"] == NO_FLOW
    assert faulted.any()
    assert (run.trace["valve_cmd"][faulted] == 1.0).all()
    assert (run.trace["dump_cmd"][faulted] == 1.0).all()
    assert (run.trace["damper_cmd"][faulted] == 0.0).all()
    assert (run.trace["fans_cmd"][faulted] == 1.0).all()
    assert (run.trace["horn"][faulted] == 3.0).all()


def test_retries_end_inside_the_window_and_the_lock_out_follows(lost):
    run, died_s = lost
    phases = {name: time_s for time_s, name in run.phases}
    trace = run.trace
    window_s = phases["dry lock-out"] - died_s
    heat_est_w = 1.25 * 1000.0 * run.loop.fire.nominal_kw
    start_c = float(np.interp(died_s, trace["time_s"], trace["coil_outlet_true_c"]))
    boil_s = (
        run.derived.coil_heat_j_k
        * (run.derived.coil_boil_c - start_c)
        / (run.loop.coil.peak_to_mean * heat_est_w)
    )
    assert window_s <= 0.5 * boil_s * 1.15 + 1.0
    off = (trace["phase"] == NO_FLOW) & (trace["pump_cmd"] == 0.0)
    assert 1 <= off.sum() <= 2 * run.derived.retries
    after = trace["time_s"] > phases["dry lock-out"]
    assert not trace["pump_cmd"][after].any()
    assert (trace["phase"][after] == DRY).all()


def test_the_coil_boils_about_when_the_sum_says(lost):
    """The film makes the difference: C_coil (T_b - T_out) / (phi Q), lumped, against the plant."""
    run, died_s = lost
    start_c = float(np.interp(died_s, run.trace["time_s"], run.trace["coil_outlet_true_c"]))
    heat_w = 1000.0 * run.loop.fire.nominal_kw
    sum_s = (
        run.derived.coil_heat_j_k
        * (run.derived.coil_boil_c - start_c)
        / (run.loop.coil.peak_to_mean * heat_w)
    )
    assert run.first_boil_s is not None
    ratio = (run.first_boil_s - died_s) / sum_s
    assert 1.0 < ratio < 1.2
