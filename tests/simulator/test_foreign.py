"""A person's own logic: loaded, believed in nothing, its end told as a finding."""

from __future__ import annotations

import hashlib
import math
import textwrap
from pathlib import Path

import numpy as np
import pytest

from coilward.controller.decide import decide
from coilward.controller.state import first_state
from coilward.loop.document import read_loop
from coilward.loop.errors import InputRefused
from coilward.simulator.foreign import load
from coilward.simulator.logic import Logic
from coilward.simulator.night import Night, read_night
from coilward.simulator.rehearsal import rehearse
from coilward.simulator.run import OWN_LOGIC
from tests.simulator.plants import TODAY

EXAMPLE = Path(__file__).parents[2] / "docs" / "own_logic.py"
HEAD = "from coilward.controller.types import Commands\n"
GOOD = "return None, Commands(True, 1.0, 1.0, True, False, 0, False)"


def written(tmp_path, body, name="mine.py", head=HEAD):
    """A file with a `decide` of that body."""
    file = tmp_path / name
    code = textwrap.indent(textwrap.dedent(body), "    ")
    file.write_text(f"{head}def decide(readings, requests, memory, constants):\n{code}\n")
    return f"{file}:decide"


def night(*moments, duration="5 min", start="running"):
    return Night.model_validate({
        "coilward": 1, "name": "made", "duration": duration, "start": start,
        "moment": list(moments),
    })  # fmt: skip


def run(wanted, night_=None, loop="boathouse"):
    return rehearse(
        read_loop(loop), night_ or night(), today=TODAY, engine="interpreted", logic=load(wanted)
    )


def refused(wanted, night_=None):
    """The one message."""
    with pytest.raises(InputRefused) as caught:
        run(wanted, night_)
    assert len(caught.value.faults) == 1
    return str(caught.value)


def test_the_example_is_short_and_acts_on_a_dead_pump():
    assert len(EXAMPLE.read_text().splitlines()) <= 30
    shown = run(f"{EXAMPLE}:decide", read_night("pump-dies"), "greenhouse")
    assert shown.logic == f"{EXAMPLE}:decide"
    assert shown.phases == [(0.0, OWN_LOGIC)]
    assert shown.causes == []
    assert shown.died is None
    onset_s = 1800.0
    time_s, trace = shown.trace["time_s"], shown.trace
    shut = time_s[(trace["damper_cmd"] < 0.5) & (time_s >= onset_s)]
    assert onset_s + 3.0 <= shut[0] <= onset_s + 8.0
    assert trace["damper_cmd"][time_s < onset_s].min() == 1.0
    assert np.isnan(trace["flow_min_lpm"]).all()


def test_the_example_waits_in_a_quiet_night():
    shown = run(f"{EXAMPLE}:decide", read_night("quiet"), "greenhouse")
    assert shown.first_boil_s is None
    assert shown.trace["damper_cmd"].min() == 1.0
    assert shown.trace["heat_water_w"].max() > 5000.0


def test_memory_starts_as_none_and_again_after_a_restart(tmp_path):
    """The pump runs only in the tick in which nothing is remembered."""
    wanted = written(tmp_path, """
        first = memory is None
        return "seen", Commands(True, 1.0 if first else 0.5, 1.0, True, False, 0, False)
    """)
    shown = run(wanted, night({"at": "2 min", "do": "fault", "fault": "board-reboots"}))
    opened = shown.trace["time_s"][shown.trace["valve_cmd"] == 1.0]
    assert opened.tolist() == [122.0]


def test_ours_through_the_same_door_gives_the_same_bits():
    """The replaced function is called as ours is: ours replaced by itself changes nothing."""
    made = night({"at": "1 min", "do": "fault", "fault": "pump-dies"})
    loop = read_loop("boathouse")
    itself = Logic("itself", "0", decide, first_state)
    ours, same = (
        rehearse(loop, made, today=TODAY, engine="interpreted", logic=logic)
        for logic in (None, itself)
    )
    for name, column in ours.trace.items():
        assert column.tobytes() == same.trace[name].tobytes(), name
    assert (ours.phases, ours.causes, ours.margins) == (same.phases, same.causes, same.margins)


def test_an_exception_is_a_finding_and_leaves_a_dead_board(tmp_path):
    wanted = written(tmp_path, f"""
        if readings.time_s >= 90.0:
            readings.tank_c / 0
        {GOOD}
    """)
    shown = run(wanted)
    assert shown.died is not None
    assert shown.died.time_s == 90.0
    assert shown.died.words == "ZeroDivisionError: float division by zero (mine.py, line 5)"
    assert (90.0, f"the logic stops: {shown.died.words}") in shown.acts
    after = shown.trace["time_s"] >= 91.0
    assert shown.trace["damper_cmd"][after].max() == 0.0
    assert shown.trace["horn"][after].max() == 0.0
    assert shown.trace["pump_cmd"][after].min() == 1.0
    assert shown.trace["damper_cmd"][shown.trace["time_s"] < 90.0].min() == 1.0
    assert not math.isnan(shown.margins.boil_k)


def test_an_exception_while_the_loop_settles_is_told_too(tmp_path):
    shown = run(written(tmp_path, "raise KeyError('nothing here')"))
    assert shown.died is not None
    assert shown.died.time_s < 0.0
    assert "KeyError" in shown.died.words
    assert shown.trace["damper_cmd"].max() == 0.0


def test_a_dead_board_stays_dead_after_its_supply_comes_back(tmp_path):
    wanted = written(tmp_path, f"""
        if readings.time_s >= 60.0:
            raise RuntimeError
        {GOOD}
    """)
    shown = run(
        wanted, night({"at": "2 min", "do": "fault", "fault": "supply-lost", "for": "5 s"})
    )
    assert shown.died.words.startswith("RuntimeError (mine.py")
    assert shown.trace["pump_cmd"][shown.trace["time_s"] > 130.0].max() == 0.0


@pytest.mark.parametrize(("commands", "told"), [
    ("Commands(True, 1.5, 1.0, True, False, 0, False)", "valve = 1.5. Accepted: a stroke from 0"),
    ("Commands(True, float('nan'), 1.0, True, False, 0, False)", "valve = nan"),
    ("Commands(True, 1.0, -0.1, True, False, 0, False)", "fans = -0.1"),
    ("Commands(2, 1.0, 1.0, True, False, 0, False)", "pump = 2"),
    ("Commands(True, 1.0, 1.0, True, False, 4, False)", "horn = 4. Accepted: 0, 1, 2 or 3"),
])  # fmt: skip
def test_commands_out_of_range_are_refused_with_the_first_of_them(tmp_path, commands, told):
    assert told in refused(written(tmp_path, f"return None, {commands}"))


@pytest.mark.parametrize(("answer", "told"), [
    ("return Commands(True, 1.0, 1.0, True, False, 0, False)", "it gave Commands, not memory"),
    ("return None", "it gave NoneType, not memory and commands"),
    ("return None, 3", "it gave int in the place of Commands"),
    ("return None, (True, 1.0)", "it gave tuple in the place of Commands"),
    ("return None, Commands('on', 'x', 1.0, True, False, 0, False)", "pump = 'on'"),
    ("return None, Commands(True, 'x', 1.0, True, False, 0, False)", "not all of these are num"),
    ("return None, Commands(True, None, 1.0, True, False, 0, False)", "not all of these are num"),
])  # fmt: skip
def test_an_answer_of_the_wrong_kind_is_refused(tmp_path, answer, told):
    assert told in refused(written(tmp_path, answer))


@pytest.mark.parametrize(("wanted", "told"), [
    ("nothing_of_that_name:decide", "there is no such module"),
    ("json.nothing_of_that_name:decide", "there is no such module"),
    ("no_such_file.py:decide", "there is no such file"),
    ("json", "names no function"),
    ("json:", "names no function"),
    (":decide", "names no function"),
    ("textwrap:nothing", "there is no such function"),
    ("json:decoder", "this is no function"),
    ("textwrap:dedent", "does not take four arguments"),
])  # fmt: skip
def test_what_can_not_be_loaded_is_refused(wanted, told):
    message = refused(wanted)
    assert told in message
    assert "Accepted: " in message


@pytest.mark.parametrize("head", ["import nothing_of_that_name\n", "def (\n", "raise SystemExit\n"])
def test_a_file_that_fails_while_it_loads_is_refused(tmp_path, head):
    assert "can't be loaded" in refused(written(tmp_path, GOOD, head=head))


def test_a_module_in_the_current_folder_is_found(tmp_path, monkeypatch):
    written(tmp_path, GOOD, name="found_in_this_folder.py")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.path", ["/nowhere"])
    assert load("found_in_this_folder:decide").name == "found_in_this_folder:decide"


def test_the_digest_is_of_the_source_file(tmp_path):
    wanted = written(tmp_path, GOOD)
    first = load(wanted).digest
    file = Path(wanted.rpartition(":")[0])
    assert first == hashlib.sha256(file.read_bytes()).hexdigest()[: len(first)]
    file.write_text(file.read_text() + "# changed\n")
    assert load(wanted).digest != first
