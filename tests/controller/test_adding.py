"""A row added at run time is found by the logic, the masks, the page and a rehearsal."""

from __future__ import annotations

import pytest

from coilward.controller import interlocks
from coilward.controller.adding import MOST_ROWS, add, added, drop, signature
from coilward.controller.constants import constants_for
from coilward.controller.interlocks import INDEX, ROWS, Row, names
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator.engine import chosen
from coilward.simulator.night import read_night
from coilward.simulator.rehearsal import rehearse
from tests.controller.rig import TODAY, Rig, constants_of
from tests.docs.written import tables

HOT_FLUE = Row(
    "X01", "flue over 400 degC", 2.0, 4.0, "fire", "shutdown", "person", 2, 2, "on", "open", "=",
    "shut", "=", "The flue is too hot.", "Ends the fire.", "Don't add wood.",
    "A chimney fire starts in soot.",
    cause_of=lambda readings, seen, now, mode: not (readings.flue_c < 400.0),
)
ALWAYS = HOT_FLUE._replace(name="X02", latch="no", next="stay", any_time=True, pump="=",
                           cause_of=lambda readings, seen, now, mode: True)


@pytest.fixture
def hot_flue():
    add(HOT_FLUE)
    yield
    for row in reversed(added()):
        drop(row.name)


def fresh_rig() -> Rig:
    loop = read_loop("greenhouse")
    return Rig(constants_for(loop, derive(loop, TODAY)))


@pytest.mark.usefixtures("hot_flue")
def test_an_added_row_trips_latches_and_leads_on_like_any_other():
    rig = fresh_rig().settle(30.0)
    rig.set(flue_c=399.0).run(30.0)
    assert rig.rows == []
    rig.set(flue_c=401.0)
    took_s = rig.until(lambda r: "X01" in r.rows, 4.0)
    assert 1.5 <= took_s <= 2.25
    rig.until(lambda r: r.phase == "shutdown", 1.0)
    assert rig.latched == ["X01"]
    assert rig.commands.pump
    assert not rig.commands.damper_open


@pytest.mark.usefixtures("hot_flue")
def test_an_added_row_is_in_masks_and_page():
    assert names(interlocks.DAMPER_SHUT)[-1] == "X01"
    assert names(interlocks.EVERY_ROW) == [row.name for row in ROWS]
    assert "| X01 | flue over 400 degC |" in tables().interlocks()
    assert "The flue is too hot." in tables().interlocks()


@pytest.mark.usefixtures("hot_flue")
def test_an_added_row_is_heard_in_a_rehearsal_by_the_interpreter_alone():
    add(ALWAYS)
    assert chosen("auto") == "interpreted"
    with pytest.raises(RuntimeError, match="interpreted engine"):
        chosen("compiled")
    loop = read_loop("boathouse")
    night = read_night("pump-stalls").model_copy(update={"duration_s": 60.0, "moment": []})
    run = rehearse(loop, night, today=TODAY)
    assert (run.trace["horn"] == ALWAYS.horn).all()


def test_dropping_leaves_no_trace():
    before = (list(ROWS), dict(INDEX), interlocks.DAMPER_SHUT, interlocks.LAST_ROW)
    add(HOT_FLUE)
    add(ALWAYS)
    drop("X01")
    assert names(interlocks.ANY_TIME)[-1] == "X02"
    assert INDEX["X02"] == len(before[0])
    drop("X02")
    assert (list(ROWS), dict(INDEX), interlocks.DAMPER_SHUT, interlocks.LAST_ROW) == before
    rig = Rig(constants_of()).settle(10.0).set(flue_c=500.0).run(10.0)
    assert rig.rows == []


def test_the_signature_tells_rows_and_conditions_apart():
    without = signature()
    add(HOT_FLUE)
    with_it = signature()
    drop("X01")
    add(HOT_FLUE._replace(cause_of=lambda readings, seen, now, mode: readings.flue_c > 401.0))
    with_another = signature()
    drop("X01")
    assert len({without, with_it, with_another}) == 3
    assert signature() == without


def test_what_is_no_row_is_refused():
    for row, words in (
        (HOT_FLUE._replace(name="C01"), "already"),
        (HOT_FLUE._replace(cause_of=None), "cause_of"),
        (HOT_FLUE._replace(pump="off"), "only the dry tier"),
    ):
        with pytest.raises(ValueError, match=words):
            add(row)
    with pytest.raises(ValueError, match="was not added"):
        drop("C01")
    with pytest.raises(ValueError, match="was not added"):
        drop("X99")
    for k in range(MOST_ROWS - len(ROWS)):
        add(HOT_FLUE._replace(name=f"X{k:02}"))
    with pytest.raises(ValueError, match="full"):
        add(HOT_FLUE._replace(name="X98"))
    for row in reversed(added()):
        drop(row.name)
