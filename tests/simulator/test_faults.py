"""The catalogue of faults: complete, consistent, and each row acts on the plant."""

from __future__ import annotations

from itertools import pairwise

import pytest

from coilward.controller.decide import decide
from coilward.controller.interlocks import INDEX
from coilward.controller.phases import PHASES
from coilward.controller.types import Requests
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.errors import InputRefused
from coilward.simulator import closed
from coilward.simulator import slots as at
from coilward.simulator.faults import FAULTS, Effect, Fault, forget, lacking, register
from coilward.simulator.faults.fault import has
from coilward.simulator.night import Moment, read_night
from coilward.simulator.run import causes_of
from tests.loop.examples import changed
from tests.simulator.trials import ONSET_S, TODAY, bench, outlet_a_hot, played, staged, tried

SHOWN = [fault for fault in FAULTS.values() if not fault.unshown]
UNSHOWN = [fault for fault in FAULTS.values() if fault.unshown]


@pytest.fixture
def one_more():
    """A row that is registered at run time."""
    row = Fault(
        number="F105", name="mouse-in-fan", group="actuators", words="a mouse sits in the fan",
        response="Nothing.", base="logic", needs="radiator",
        effects=(Effect(at.FAN_SHARE, lambda scene: 0.5, asked_s=at.FANS_RUN_S),),
    )
    register(row)
    yield row
    FAULTS.pop(row.name, None)


@pytest.fixture
def false_heat():
    """A reading that starts a dump, for rows that begin in one."""
    register(outlet_a_hot())
    yield
    forget("outlet-a-hot")


def test_every_number_of_the_catalogue_has_a_row():
    assert {fault.number for fault in FAULTS.values()} == {f"F{n:02d}" for n in range(1, 105)}


@pytest.mark.parametrize("fault", SHOWN, ids=lambda fault: fault.name)
def test_a_row_is_whole(fault):
    loop = bench().loop
    assert fault.words
    assert fault.response.endswith((".", '"'))
    assert fault.effects or fault.acts
    assert fault.phases
    assert set(fault.phases) | set(fault.due_in) <= set(PHASES)
    assert fault.caught_by or fault.deadline_s is None, "a deadline needs a row that tells"
    assert fault.lasts_s >= (fault.due_s(loop, bench().derived, fault.due_in[0]) or 0.0)
    assert set(fault.prevents) <= {*type(loop.passive).model_fields, "flow_switch"}
    assert fault.base in ("hardware helps", "hardware only") or not fault.prevents
    for path in filter(None, (fault.needs, fault.alone_with, fault.told_by)):
        assert has(loop, path), "the loop of this test has every part"
    for act in fault.acts:
        assert (act.do == "press") == (act.request in Requests._fields)
        assert not act.sized or fault.default_size is not None


@pytest.mark.parametrize("fault", UNSHOWN, ids=lambda fault: fault.name)
def test_a_row_that_is_not_shown_says_why_and_does_nothing(fault):
    assert len(fault.unshown.split()) > 5
    assert (fault.effects, fault.acts, fault.caught_by, fault.size_meaning) == ((), (), (), "")
    assert fault.deadline_s is None


def test_rows_that_tell_exist():
    named = {name for fault in FAULTS.values() for name in fault.caught_by}
    assert named <= set(INDEX)


@pytest.mark.parametrize("fault", SHOWN, ids=lambda fault: fault.name)
def test_a_fault_takes_effect_in_closed_loop(fault, false_heat):
    assert lacking(fault, bench().loop) is None
    night = tried(fault.name, staged(fault))
    assert night.faults.fired[fault.name]


def due_phase(fault):
    """A phase in which a short night can begin the fault and a row has to tell."""
    on = bench()
    phases = [phase for phase in ("run", "standby", "shutdown") if phase in fault.phases]
    return next((phase for phase in phases if fault.due_s(on.loop, on.derived, phase)), None)


DUE = [fault for fault in SHOWN if due_phase(fault)]


def test_most_rows_with_a_deadline_are_tried():
    assert len(DUE) >= 40
    left_out = {fault.name for fault in SHOWN if fault.deadline_s} - {row.name for row in DUE}
    assert left_out == set()


@pytest.mark.parametrize("fault", DUE, ids=lambda fault: fault.name)
def test_a_row_tells_before_its_deadline(fault):
    phase = due_phase(fault)
    due_s = fault.due_s(bench().loop, bench().derived, phase)
    night = tried(fault.name, phase, lasts_s=max(50.0, due_s + 1.0))
    told = [
        cause.time_s - ONSET_S for cause in causes_of(night.log) if cause.name in fault.caught_by
    ]
    assert told, [cause.name for cause in causes_of(night.log)]
    assert -bench().loop.tick_s <= told[0] <= due_s


@pytest.mark.parametrize(("size", "left_out"), [(1.0, 1), (1.4, 1), (2.4, 2), (2.6, 3), (3.0, 3)])
def test_a_late_board_leaves_out_whole_ticks_the_nearest_number(monkeypatch, size, left_out):
    decided_s = []

    def counting(readings, *rest):
        decided_s.append(readings.time_s)
        return decide(readings, *rest)

    monkeypatch.setattr(closed, "decide", counting)
    tried("ticks-late", "run", size=size)
    gaps_s = {round(b - a, 6) for a, b in pairwise(decided_s) if a > ONSET_S + 2.0}
    assert gaps_s == {(1 + left_out) * bench().loop.tick_s}


def test_a_fault_of_a_part_that_is_not_there_is_lacking():
    loop = changed(read_loop("boathouse"), sensors__coil_metal=None, power__battery_ah=0.0)
    assert lacking(FAULTS["metal-open"], loop) == "sensors.coil_metal"
    assert lacking(FAULTS["charger-lost"], loop) == "power.battery_ah"
    assert lacking(FAULTS["pump-dies"], loop) is None


def test_a_deadline_counts_where_the_fault_shows_at_once():
    loop = read_loop("boathouse")
    derived = derive(loop, TODAY)
    assert FAULTS["pump-dies"].due_s(loop, derived, "run") == derived.low_flow_total_s
    assert FAULTS["outlet-a-open"].due_s(loop, derived, "run") == 4.0
    assert FAULTS["outlet-a-open"].due_s(loop, derived, "standby") is None
    assert FAULTS["outlet-a-frozen"].due_s(loop, derived, "run") is None
    blind = changed(loop, sensors__fan_current=False)
    assert FAULTS["fans-fail"].due_s(loop, derived, "run") == 10.0
    assert FAULTS["fans-fail"].due_s(blind, derived, "run") is None


def test_a_row_registered_at_run_time_is_found_everywhere(one_more, tmp_path):
    from tests.docs.written import tables

    file = tmp_path / "night.toml"
    text = (
        'coilward = 1\nname = "mouse"\nduration = "60 s"\nstart = "running"\n[[moment]]\n'
        'at = "10 s"\ndo = "fault"\nfault = "mouse-in-fan"\n'
    )
    file.write_text(text, encoding="utf-8")
    assert read_night(file).moment[0].fault == one_more.name
    assert "| F105 | `mouse-in-fan` |" in tables().PAGES["faults.md"]()
    assert played(Moment(at_s=5.0, do="fault", fault=one_more.name)).faults.fired[one_more.name]
    assert lacking(one_more, read_loop("hot-tub")) == "radiator"
    with pytest.raises(ValueError, match="mouse-in-fan"):
        register(one_more)
    forget(one_more.name)
    with pytest.raises(InputRefused):
        read_night(file)
    with pytest.raises(KeyError):
        forget(one_more.name)


def test_a_row_registered_at_run_time_is_listed(one_more, capsys):
    from coilward.desk.listing import list_nights

    assert list_nights(None) == 0
    assert "a mouse sits in the fan [F105]" in capsys.readouterr().out
