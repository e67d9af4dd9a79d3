"""Logs that contradict themselves in their rows are refused, with the line."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from coilward.learning.contradictions import check_rows
from coilward.learning.learned import learn
from coilward.learning.log import log_of_rows
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.errors import InputRefused
from tests.learning.made import HELD, made

TODAY = date(2026, 11, 25)
LOOP = read_loop("greenhouse")
DERIVED = derive(LOOP, TODAY)
ROWS = 600


def log(**changes):
    time_s = 10.0 * np.arange(ROWS)
    warm = np.linspace(0.0, 1.0, ROWS)
    columns = {
        "coil_outlet": 20.0 + 30.0 * warm, "tank": 10.0 + 12.0 * warm,
        "radiator_outlet": 11.0 + 11.0 * warm, "room": 8.0 + warm, "flow": np.full(ROWS, 4.5),
        "fans": np.ones(ROWS),
    }  # fmt: skip
    columns |= changes
    return log_of_rows("log.csv", time_s, {k: v for k, v in columns.items() if v is not None})


def refused(**changes):
    with pytest.raises(InputRefused) as caught:
        check_rows(log(**changes), LOOP, DERIVED)
    (fault,) = caught.value.faults
    return fault


def test_a_log_that_agrees_is_taken():
    check_rows(log(), LOOP, DERIVED)


def test_what_drives_the_plant_has_to_be_there():
    fault = refused(flow=None, fans=None)
    assert fault.key == "flow, fans"
    assert "--columns" in fault.accepted


def test_a_thermometer_that_the_loop_file_does_not_know_is_left_out():
    """Its lag and error are not known, so nothing could be made of it."""
    unknown = {"radiator_inlet": None}
    bare = LOOP.model_copy(update={"sensors": LOOP.sensors.model_copy(update=unknown)})
    made_log, _ = made(2, HELD, every=10, gaps=False)
    learned = learn(bare, made_log, TODAY)
    assert "radiator_inlet" in made_log.columns
    assert learned.plant.seen == ["radiator_outlet", "tank"]


def test_water_over_boiling():
    hot = np.full(ROWS, 50.0)
    hot[300:] = 120.0
    fault = refused(coil_outlet=hot)
    assert fault.key == "coil_outlet"
    assert fault.line == 302
    assert "0:50:00" in fault.problem


def test_flow_without_rise():
    fault = refused(coil_outlet=10.0 + 12.0 * np.linspace(0.0, 1.0, ROWS))
    assert "flow without rise" in fault.problem


def test_a_tank_that_warms_without_flow():
    flow = np.full(ROWS, 4.5)
    flow[100:500] = 0.0
    fault = refused(flow=flow)
    assert fault.key == "flow"
    assert fault.line == 102


def test_a_thermometer_that_stands_still():
    still = np.full(ROWS, 15.0)
    fault = refused(radiator_outlet=still)
    assert fault.key == "radiator_outlet"
