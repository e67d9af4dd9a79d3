"""What an alarm says the machine did, in the dry lock-out and outside it."""

from __future__ import annotations

from datetime import date

import pytest

from coilward.desk.story import LOCKED, alarms, row
from coilward.loop.document import read_loop
from coilward.proving.case import parse_case
from coilward.proving.stage import Stage
from tests.desk.synthetic import cause, dead_pump_run

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(("name", "locked"), [
    ("C32", True), ("C03", True), ("C28", True), ("C11", False), ("C33", False), ("C13", False),
])  # fmt: skip
def test_in_the_lock_out_no_alarm_says_that_water_moves(name, locked):
    run = dead_pump_run()
    run.phases = [(0.0, "run"), (100.0, "dry lock-out"), (200.0, "standby")]
    told = []
    for time_s in (50.0, 100.0, 199.0, 200.0):
        run.causes = [cause(time_s, name)]
        told.append(alarms(run)[0].machine)
    own = row(name).machine
    assert told == [own, LOCKED if locked else own, LOCKED if locked else own, own]


def test_the_button_pressed_in_a_real_lock_out():
    stage = Stage(read_loop("greenhouse"), engine="interpreted", today=TODAY)
    run = stage.rehearse(parse_case("reset-again-and-again/15@1"))
    pressed = [each for each in alarms(run) if each.happened == row("C32").happened]
    assert [each.machine for each in pressed] == [LOCKED]
    assert not run.trace["pump_cmd"][int(pressed[0].time_s) + 5]
    assert not any("keeps moving" in each.machine for each in alarms(run)[2:])
