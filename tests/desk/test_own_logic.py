"""A person's own logic at the desk: what is told of it, and with which exit code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.desk.cli import ON, run_here

EXAMPLE = f"{Path(__file__).parents[2] / 'docs' / 'own_logic.py'}:decide"
DIES = """
from coilward.controller.types import Commands

def decide(readings, requests, memory, constants):
    if readings.time_s >= 1830.0:
        raise RuntimeError("no idea <now>")
    return None, Commands(True, 1.0, 1.0, True, False, 0, False)
"""


def rehearsed(monkeypatch, capsys, logic, *more):
    return run_here(
        monkeypatch, capsys, "rehearse", "greenhouse", "--night", "pump-dies", "--logic", logic,
        *ON, *more,
    )


def test_it_is_told_what_the_logic_did_and_not_what_it_saw(monkeypatch, capsys, tmp_path):
    page = tmp_path / "night.html"
    done = rehearsed(monkeypatch, capsys, EXAMPLE, "--page", str(page))
    said = " ".join(done.out.split())
    assert done.code == 1
    assert "your own logic shuts the damper, opens the dump and sounds the horn" in said
    assert f"What your own logic did ({EXAMPLE})" in said
    assert "Alarms" not in said
    assert f"--logic {EXAMPLE}" in said
    drawn = page.read_text()
    assert "Your own logic opens the dump." in drawn
    assert f"logic {EXAMPLE}" in drawn


def test_a_logic_that_dies_is_a_finding(monkeypatch, capsys, tmp_path):
    file, page = tmp_path / "dies.py", tmp_path / "night.html"
    file.write_text(DIES)
    done = rehearsed(monkeypatch, capsys, f"{file}:decide", "--json", "-", "--page", str(page))
    found = json.loads(done.out)
    assert done.code == 1
    assert found["verdict"] == "do not light"
    assert found["logic_died"]["time_s"] == 1830.0
    assert found["logic_died"]["words"] == "RuntimeError: no idea <now> (dies.py, line 6)"
    assert "and the board is dead" in found["answer"]
    assert "no idea &lt;now&gt;" in page.read_text()


def test_it_never_gets_the_best_word_for_one_night(monkeypatch, capsys):
    done = run_here(monkeypatch, capsys, "rehearse", "greenhouse", "--logic", EXAMPLE, *ON)
    assert done.code == 0
    assert "ATTENDED ONLY" in done.out
    assert "one night shows how it meets that night" in " ".join(done.out.split())


@pytest.mark.parametrize("logic", ["no_such_module_here:decide", f"{EXAMPLE}_not", "x"])
def test_what_can_not_be_loaded_ends_with_2_and_one_line(monkeypatch, capsys, logic):
    done = rehearsed(monkeypatch, capsys, logic)
    assert done.code == 2
    assert done.out == ""
    assert done.err.startswith("error: ")
    assert done.err.count("\n") == 1


def test_an_answer_that_no_board_can_act_on_ends_with_2(monkeypatch, capsys, tmp_path):
    file = tmp_path / "wrong.py"
    file.write_text(DIES.replace("Commands(True, 1.0", "Commands(True, 7.0"))
    done = rehearsed(monkeypatch, capsys, f"{file}:decide")
    assert done.code == 2
    assert "valve = 7.0. Accepted: a stroke from 0 to 1" in done.err
