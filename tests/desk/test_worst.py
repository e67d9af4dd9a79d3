"""`coilward worst`: the story it tells, how it ends, and that its command shows the same night."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from coilward.loop.document import read_loop
from coilward.proving.case import parse_case
from coilward.proving.stage import Stage
from coilward.simulator.foreign import load
from tests.desk.cli import ON, run_here
from tests.simulator.plants import TODAY

EXAMPLE = f"{Path(__file__).parents[2] / 'docs' / 'own_logic.py'}:decide"
DEAF = """
from coilward.controller.types import Commands

def decide(readings, requests, memory, constants):
    return None, Commands(True, 1.0, 1.0, True, False, 0, False)
"""


@pytest.fixture
def deaf(tmp_path):
    """A logic that never shuts the damper and never sounds the horn."""
    file = tmp_path / "deaf.py"
    file.write_text(DEAF)
    return f"{file}:decide"


def worst(monkeypatch, capsys, *args):
    return run_here(monkeypatch, capsys, "worst", "greenhouse", *ON, *args)


def test_a_deaf_logic_is_told_in_plain_words(monkeypatch, capsys, deaf):
    done = worst(monkeypatch, capsys, "--logic", deaf, "--faults", "pump-dies", "--runs", "5")
    said = " ".join(done.out.split())
    assert done.code == 1
    assert "[ X ] SOMETHING ESCAPES in 1 nights" in said
    assert "the pump stops and stays stopped" in said
    assert "every number is as in the loop's file" in said
    assert "violated When the water stands over a fire, the valve is open, the damper shut" in said
    assert "Seeing still water sooner" in said
    assert f"--logic {deaf}" in said


def test_the_key_it_names_shows_the_same_night_again(monkeypatch, capsys, deaf):
    done = worst(
        monkeypatch, capsys, "--logic", deaf, "--faults", "pump-dies", "--runs", "5",
        "--json", "-",
    )
    found = json.loads(done.out)
    assert found["escaped"] is True
    assert found["story"]["missed"] == ["no-flow-answered", "pump-off-before-steam"]
    key = found["story"]["key"]
    assert re.fullmatch(r"pump-dies/\d+@1=0:0,1?.*", key)
    again = run_here(
        monkeypatch, capsys, "rehearse", "greenhouse", "--case", key, "--logic", deaf, *ON,
        "--json", "-",
    )
    shown = json.loads(again.out)
    assert shown["first_boil_s"] == pytest.approx(found["story"]["first_boil_s"])
    assert len(found["story"]["key"]) <= len(found["found"]["key"]) + 2


def test_where_nothing_escapes_the_night_with_the_least_margin_is_told(
    monkeypatch, capsys, tmp_path
):
    page = tmp_path / "worst.html"
    done = worst(
        monkeypatch, capsys, "--faults", "outlet-a-open", "--runs", "4", "--page", str(page)
    )
    said = " ".join(done.out.split())
    assert done.code == 0
    assert "( o ) NOTHING ESCAPES in 4 nights" in said
    assert "There may be worse ones." in said
    assert "alarm: One outlet thermometer is lost" in said
    assert "by C13; the limit is 4 s" in said
    assert page.read_text().startswith("<!DOCTYPE html>")


def test_the_margin_told_is_the_margin_of_the_night(monkeypatch, capsys):
    done = worst(monkeypatch, capsys, "--faults", "outlet-a-open", "--runs", "2", "--json", "-")
    found = json.loads(done.out)
    stage = Stage(read_loop("greenhouse"), today=TODAY)
    outcome = stage.play(parse_case(found["story"]["key"]))
    assert found["story"]["margin_k"] == outcome.margin_k
    assert found["story"]["least"] == pytest.approx(
        min(1.5 - outcome.caught_s / outcome.deadline_s, *outcome.robustness.values())
    )


@pytest.mark.parametrize(("args", "told"), [
    (("--faults", "no-such-fault"), "there is no such fault"),
    (("--logic", "no_such_module:decide"), "there is no such module"),
    (("--page", "/no/such/folder/page.html"), "there is no such folder"),
])  # fmt: skip
def test_bad_input_ends_with_2(monkeypatch, capsys, args, told):
    done = worst(monkeypatch, capsys, *args)
    assert done.code == 2
    assert told in done.err
    assert done.out == ""


def test_a_logic_that_dies_is_found_and_told(monkeypatch, capsys, tmp_path):
    file = tmp_path / "dies.py"
    file.write_text(DEAF.replace("    return", "    readings.tank_c / memory\n    return"))
    done = worst(
        monkeypatch, capsys, "--logic", f"{file}:decide", "--faults", "pump-dies", "--runs", "3"
    )
    said = " ".join(done.out.split())
    assert done.code == 1
    assert "The logic goes on deciding, whatever it reads." in said
    assert "it stopped: TypeError: unsupported operand" in said


def test_a_memory_that_is_written_to_does_not_reach_the_next_night(tmp_path):
    """The same case twice, between them another: a list that grows all the time stays its own."""
    file = tmp_path / "grows.py"
    file.write_text(DEAF.replace("    return None,", (
        "    memory = memory or []\n    memory.append(readings.time_s)\n"
        "    return memory,"
    )).replace("True, 1.0, 1.0, True", "True, 1.0, 1.0, len(memory) < 1500"))
    stage = Stage(read_loop("greenhouse"), today=TODAY, logic=load(f"{file}:decide"))
    first, other, again = (
        stage.play(parse_case(f"{name}@1"))
        for name in ("pump-dies/1", "outlet-a-open/3", "pump-dies/1")
    )
    assert first == again
    assert first != other


def test_a_fault_that_asks_nothing_of_logic_is_no_hunt(monkeypatch, capsys):
    done = worst(monkeypatch, capsys, "--faults", "vent-blocked", "--runs", "3")
    assert done.code == 1
    assert "none of 0 nights showed anything" in done.err
