"""Eight hours with nothing broken must be quiet: no alarm, no chatter, the outlet in its place."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from coilward.controller.phases import COLD_START, RUN
from coilward.loop.document import read_loop
from coilward.simulator.night import read_night
from coilward.simulator.rehearsal import rehearse

TODAY = date(2026, 11, 25)
BAND_K = 3.0
SETTLING_S = 120
"""The valve's way from open to its place after warm-up."""


@pytest.fixture(scope="module", params=["boathouse", "greenhouse", "hot-tub"])
def quiet(request):
    return rehearse(read_loop(request.param), read_night("quiet"), today=TODAY)


def test_lasts_eight_hours_and_goes_through_its_phases_once(quiet):
    assert quiet.duration_s == 8 * 3600.0
    names = [name for _, name in quiet.phases]
    assert names[:5] == ["standby", "cold start", "warm-up", "run", "shutdown"]
    assert names[5:] in ([], ["standby"])


def test_no_alarm_and_no_horn_but_its_test(quiet):
    assert quiet.causes == []
    sounding = quiet.trace["horn"] > 0.0
    assert (quiet.trace["phase"][sounding] == COLD_START).all()
    assert sounding.sum() <= 2


def test_the_valve_does_not_chatter(quiet):
    in_run = quiet.trace["phase"] == RUN
    moves = np.count_nonzero(np.diff(quiet.trace["valve_cmd"][in_run]))
    assert moves / (in_run.sum() / 3600.0) <= 60.0


def test_the_outlet_is_near_its_goal_or_the_valve_at_a_limit(quiet):
    trace, loop, constants = quiet.trace, quiet.loop, quiet.constants
    in_run = np.flatnonzero(trace["phase"] == RUN)[SETTLING_S:]
    near = np.abs(trace["coil_outlet_true_c"] - constants.limits.set_point_c) <= BAND_K
    full = trace["valve_cmd"] >= 0.995
    at_stop = trace["valve_true"] <= loop.valve.stop + loop.valve.backlash + 0.005
    clamp = trace["flow_true_lpm"] <= 1.05 * 1.15 * trace["flow_min_lpm"]
    placed = near | full | at_stop | clamp
    assert placed[in_run].all(), in_run[~placed[in_run]][:10]


def test_the_page_gives_the_reason(quiet):
    assert set(quiet.valve_limit_s) == {"full", "clamp"}
    off = np.abs(quiet.trace["coil_outlet_true_c"] - quiet.constants.limits.set_point_c) > BAND_K
    if (off & (quiet.trace["phase"] == RUN)).sum() > SETTLING_S:
        assert sum(quiet.valve_limit_s.values()) > 0.0


def test_margins_are_wide(quiet):
    assert quiet.first_boil_s is None
    assert quiet.margins.boil_k > 25.0
    assert quiet.pump_off_with_fire_s == 0.0
    assert quiet.energy_closure <= 1e-3
