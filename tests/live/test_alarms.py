"""Alarm states as ISA-18.2-2016 names them, the first-out, and what is suppressed."""

from __future__ import annotations

from coilward.controller.interlocks import INDEX, ROWS, bit
from coilward.controller.phases import DRY, NO_FLOW, RUN, SHUTDOWN
from coilward.controller.types import Requests
from coilward.desk.live.alarms import FITTED, STATES, Panel, followed, machine_words, out_of_service
from coilward.desk.live.told import _alarm
from coilward.desk.story import LOCKED
from tests.live.scenes import place, running, scene, tick_of

RIG = running()


def after(panel, raised=(), latched=(), first="", phase=RUN, silence=False, time_s=0.0):
    """The panel after one tick with these rows."""
    mode = RIG.state.mode._replace(
        latched=sum(map(bit, latched)), first_out=INDEX[first] if first else -1, phase=phase
    )
    tick = tick_of(RIG, requests=Requests(silence=silence))
    state = RIG.state._replace(mode=mode, raised=sum(map(bit, raised)))
    readings = tick.readings._replace(time_s=time_s)
    return followed(panel, tick._replace(state=state, readings=readings))


def states(panel):
    return {ROWS[each.row].name: each.state for each in panel.told}


def test_the_eight_states_are_those_of_the_standard():
    # ISA-18.2-2016, alarm state transition diagram (states as listed in the project's references).
    assert set(STATES) == {
        "normal", "unacknowledged", "acknowledged", "returned-unacknowledged", "latched",
        "shelved", "suppressed by design", "out of service",
    }


def test_an_alarm_goes_its_way_through_the_states():
    panel = after(Panel(), raised=["C03"], first="C03", time_s=60.0)
    assert states(panel) == {"C03": "unacknowledged"}
    assert panel.told[0].since_s == 60.0
    panel = after(panel, raised=["C03"], first="C03", silence=True)
    assert states(panel) == {"C03": "acknowledged"}
    panel = after(panel, raised=["C03"], first="C03")
    assert states(panel) == {"C03": "acknowledged"}
    panel = after(panel)
    assert panel == Panel()


def test_one_that_left_unseen_stays_until_it_is_seen():
    panel = after(after(Panel(), raised=["C03"], first="C03"))
    assert states(panel) == {"C03": "returned-unacknowledged"}
    assert after(panel, silence=True) == Panel()


def test_one_that_comes_again_is_new():
    panel = after(Panel(), raised=["C03"], silence=True)
    panel = after(after(panel, latched=["C03"]), raised=["C03"], latched=["C03"], time_s=9.0)
    assert states(panel) == {"C03": "unacknowledged"}
    assert panel.told[0].since_s == 9.0


def test_a_latch_outlives_its_cause_and_its_acknowledgement():
    panel = after(Panel(), raised=["C22"], latched=["C22"], silence=True)
    panel = after(panel, latched=["C22"], phase=SHUTDOWN)
    assert states(panel) == {"C22": "latched"}
    assert after(panel) == Panel()


def test_the_first_out_is_kept_and_stands_first_of_its_rank():
    panel = after(Panel(), raised=["C02"], first="C02", phase=NO_FLOW)
    panel = after(panel, raised=["C01", "C02", "C13"], first="C02", phase=NO_FLOW)
    assert [ROWS[each.row].name for each in panel.told] == ["C02", "C01", "C13"]
    panel = after(panel, raised=["C01"], first="", phase=NO_FLOW)
    assert [each.first_out for each in panel.told] == [True, False, False]
    assert ROWS[panel.first_out].name == "C02"


def test_what_began_it_keeps_its_time_when_it_comes_again():
    panel = after(Panel(), raised=["C02"], first="C02", phase=NO_FLOW, time_s=20.0)
    panel = after(panel, raised=["C01"], first="C02", phase=NO_FLOW, time_s=23.0)
    panel = after(panel, raised=["C01", "C02"], first="C02", phase=NO_FLOW, time_s=27.0)
    first, second = (_alarm(each, panel, scene(RIG)) for each in panel.told)
    assert (first["name"], first["since"], first["began"]) == ("C02", "0:00:27", "0:00:20")
    assert (second["name"], second["since"], second["began"]) == ("C01", "0:00:23", "")


def test_consequences_are_suppressed_by_design_but_never_the_first_out():
    panel = after(Panel(), raised=["C11", "C21", "C39", "C46"], latched=["C11"], phase=DRY)
    assert states(panel) == {
        "C11": "unacknowledged", "C21": "suppressed by design",
        "C39": "suppressed by design", "C46": "suppressed by design",
    }
    assert states(after(Panel(), raised=["C39"], first="C39", phase=DRY)) == {
        "C39": "unacknowledged"
    }
    assert states(after(Panel(), raised=["C21", "C46"], phase=NO_FLOW)) == {
        "C21": "unacknowledged", "C46": "suppressed by design",
    }
    assert states(after(Panel(), raised=["C46"])) == {"C46": "unacknowledged"}


def test_in_the_lock_out_only_what_led_to_it_is_suppressed_of_the_first_rank():
    every = [row.name for row in ROWS]
    told = states(after(Panel(), raised=every, phase=DRY))
    hidden = {name for name, state in told.items() if state == "suppressed by design"}
    grave = {row.name for row in ROWS if row.name in hidden and row.rank == 1}
    assert grave == {"C01", "C02", "C09", "C20"}
    assert states(after(Panel(), raised=every, first="C01", phase=DRY))["C01"] == "unacknowledged"


def test_ranks_come_before_times():
    panel = after(Panel(), raised=["C13"], time_s=1.0)
    panel = after(panel, raised=["C13", "C03", "C32"], time_s=2.0)
    assert [ROWS[each.row].name for each in panel.told] == ["C32", "C03", "C13"]


def test_in_the_lock_out_no_row_claims_to_have_moved_water():
    told = after(Panel(), raised=["C01", "C11"], first="C01", phase=DRY).told
    words = {ROWS[each.row].name: machine_words(each, DRY) for each in told}
    assert words["C01"] == LOCKED
    assert words["C11"] == ROWS[INDEX["C11"]].machine
    assert machine_words(told[0], RUN) == ROWS[told[0].row].machine


def test_what_is_not_fitted_is_out_of_service():
    fitted = place().constants.fitted
    missing = {row.name for row in out_of_service(place())}
    assert missing == {"C25", "C27", "C28", "C45"}
    for name, channel in FITTED.items():
        assert (name in missing) == (not getattr(fitted, channel))
