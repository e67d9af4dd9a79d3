"""An interlock and a fault, each added in one place, are found wherever rows are told of."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from coilward.controller.adding import add, drop, signature
from coilward.controller.constants import constants_for
from coilward.controller.interlocks import Row
from coilward.desk.page.proof import proof_page
from coilward.desk.proving import Asked
from coilward.desk.tripping import Setting
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.proving.campaign import logic_hash, prove
from coilward.proving.stage import Stage
from coilward.simulator.faults import FAULTS
from coilward.simulator.faults.registry import forget, register
from tests.docs.written import tables

TODAY = date(2026, 11, 25)
WARM_TANK = Row(
    "X01", "tank over 5 degC", 0.5, 1.0, "comfort", "stay", "no", 4, 1, "=", "=", "=", "=", "=",
    "The tank is not frozen.", "Beeps.", "Nothing to do.", "It shows that a new row is found.",
    cause_of=lambda readings, seen, now, mode: readings.tank_c > 5.0,
)
NEW = replace(
    FAULTS["outlet-a-open"], name="tank-warm", words="the tank is warm", caught_by=("X01",),
    deadline_s=2.0, lasts_s=60.0, phases=("run",),
)


@pytest.fixture
def both():
    add(WARM_TANK)
    register(NEW)
    yield
    forget(NEW.name)
    drop(WARM_TANK.name)


@pytest.mark.usefixtures("both")
def test_both_are_in_campaign_tables_and_page(tmp_path):
    loop = read_loop("greenhouse")
    proof = prove(loop, faults=[NEW.name], runs=3, today=TODAY, store=tmp_path)
    row = next(each for each in proof.rows if each.fault == NEW.name)
    assert row.runs == 3
    assert row.caught == {"X01": 3}
    assert row.status == "passed"
    written = tables()
    assert "| X01 | tank over 5 degC |" in written.interlocks()
    assert "`tank-warm`" in written.faults()
    derived = derive(loop, TODAY)
    here = Setting(loop, derived, constants_for(loop, derived), loop.units)
    page = proof_page(proof, here, Asked("greenhouse", TODAY, None, None))
    assert "tank-warm" in page
    assert "tank over 5 degC" in page


def test_a_proof_is_void_when_a_row_is_added_or_means_another_thing():
    loop = read_loop("greenhouse")
    plain, without = logic_hash(Stage(loop, today=TODAY, engine="interpreted")), signature()
    add(WARM_TANK)
    added = logic_hash(Stage(loop, today=TODAY, engine="interpreted")), signature()
    drop("X01")
    add(WARM_TANK._replace(cause_of=lambda readings, seen, now, mode: readings.tank_c > 6.0))
    other = logic_hash(Stage(loop, today=TODAY, engine="interpreted")), signature()
    drop("X01")
    assert len({(plain, without), added, other}) == 3
    assert len({without, added[1], other[1]}) == 3
    assert logic_hash(Stage(loop, today=TODAY, engine="interpreted")) == plain
