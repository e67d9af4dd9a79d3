"""The JSON of a rehearsal: names, order and types are kept stable."""

from __future__ import annotations

import json
import math

import pytest

from coilward.desk.report_json import rehearsal_json
from coilward.desk.verdict import Verdict
from coilward.loop.document import loop_id
from tests.desk.synthetic import dead_pump_run, quiet_run

KEYS = [
    "verdict", "answer", "seed", "loop_id", "logic", "logic_died", "duration_s", "phases",
    "causes", "alarms", "peaks", "margins", "first_boil_s", "pump_off_with_fire_s", "final",
    "energy_closure", "x_real_time",
]  # fmt: skip


def data(run):
    return json.loads(rehearsal_json(run, Verdict("do not light", ()), "It boils."))


def test_every_field_in_its_place():
    run = dead_pump_run()
    found = data(run)
    assert list(found) == KEYS
    assert found["verdict"] == "do not light"
    assert found["answer"] == "It boils."
    assert found["seed"] == 7
    assert found["loop_id"] == loop_id(run.loop)
    assert (found["logic"], found["logic_died"]) == ("coilward", None)
    assert found["duration_s"] == run.duration_s
    assert found["phases"][1] == {"time_s": 1801.25, "phase": "no-flow fault"}
    assert found["causes"][0] == {
        "time_s": 1801.25, "name": "C01", "first_out": True, "latched": False,
    }  # fmt: skip
    assert list(found["alarms"][0]) == ["time_s", "rank", "text"]
    assert found["alarms"][0]["rank"] == 1
    assert found["alarms"][0]["text"].startswith("The water stopped moving. Machine: Opened")
    assert "You: Stay away from the coil" in found["alarms"][0]["text"]
    assert found["peaks"] == {"coil_outlet_true_c": 64.0, "coil_wall_c": 71.0, "tank_c": 28.0}
    assert found["margins"] == {"boil_k": 0.0, "boil_s": 0.0}
    assert found["first_boil_s"] == 1874.0
    assert found["pump_off_with_fire_s"] == 3600.0
    assert found["final"] == {"coil_outlet_true_c": 30.0, "tank_c": 24.0, "room_c": 8.0}
    assert found["energy_closure"] == 2e-6
    assert found["x_real_time"] == 123456.0


def test_no_boil_is_null_and_no_alarm_is_an_empty_list():
    found = data(quiet_run())
    assert found["first_boil_s"] is None
    assert found["alarms"] == found["causes"] == []


@pytest.mark.parametrize("value", [math.inf, math.nan])
def test_what_is_not_a_number_is_null_so_that_any_reader_can_read_it(value):
    run = quiet_run()
    run.margins.boil_s = value
    assert data(run)["margins"]["boil_s"] is None
