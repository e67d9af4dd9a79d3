"""`coilward bench`: use, files, words, and what a person gets who stops it."""

from __future__ import annotations

import json
from contextlib import contextmanager

import pytest

from coilward.desk import bench
from coilward.desk.bench import bench_json
from coilward.desk.benching import agrees, headline, row_said
from coilward.desk.page.bench import bench_page
from coilward.hil.bench.report import Finding, Played, Report, RowTimes, Silent, WireTrial
from coilward.hil.bench.run import PARTS
from coilward.hil.bench.timing import NEVER, Spread
from coilward.hil.emulated import building
from coilward.loop.document import read_loop
from tests.desk.cli import run_here

SPREAD = Spread(100, 1.0, 1.25, 2.0)


def report(**changes) -> Report:
    made = Report(100, 1, False, 0.25, 0xFE79C6BD)
    made.board = {"program": "test-1", "constants": 0xFE79C6BD, "table": made.table, "tick_s": 0.25}
    made.rows = [
        RowTimes("C01", 3.0, SPREAD, 0, 0, "", False),
        RowTimes("C28", 3.0, NEVER, 0, 0, "", False, "no smoke is measured"),
    ]
    made.nights = [Played("quiet", 10, "aa", "aa", "aa", 0, "")]
    made.wires = [WireTrial("noise", 3, "")]
    made.silent = Silent(SPREAD, 2.5)
    made.parts_done = list(PARTS)
    for name, value in changes.items():
        setattr(made, name, value)
    return made


def test_a_board_that_agrees():
    made = report()
    assert agrees(made)
    assert headline(made).startswith("The board decides as the reference does, to the last bit")
    page = bench_page(read_loop("greenhouse"), made, "coilward bench x", stand_in="")
    assert "AGREES WITH THE REFERENCE" in page
    assert "Date and signature" in page
    assert "real thermometers" in page


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"findings": [Finding("wire", "it <speaks>")]}, "DOES NOT AGREE"),
        ({"stopped": True, "parts_done": ["identity"]}, "NOT FINISHED"),
        ({"parts_done": ["identity"]}, "NOT FINISHED"),
    ],
)
def test_what_is_not_shown_is_not_signed(changes, word):
    made = report(**changes)
    assert not agrees(made)
    page = bench_page(read_loop("greenhouse"), made, "coilward bench x", stand_in="")
    assert word in page
    assert "nothing to sign" in page
    assert "Date and signature" not in page
    assert "<speaks>" not in page


@pytest.mark.parametrize("stand_in", ["pretended", "emulated"])
def test_what_only_stands_in_for_a_board_is_never_signed(stand_in):
    page = bench_page(read_loop("greenhouse"), report(), "coilward bench x", stand_in=stand_in)
    assert f"nothing to sign: a board that was only {stand_in}" in page
    assert "and nothing of any board" in page
    assert "Date and signature" not in page


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"missed": 2}, "FAILED: too late or never, 2 times"),
        ({"differing": 1, "first": "horn 0 for 3"}, "FAILED: horn 0 for 3"),
        ({}, "passed"),
        ({"why_not": "no smoke is measured"}, "not measured: no smoke is measured"),
    ],
)
def test_a_row_is_told_as_it_is(change, said):
    row = RowTimes("C01", 3.0, SPREAD, 0, 0, "", False)._replace(**change)
    assert row_said(row) == said
    assert row.passed == (said == "passed")


def test_the_json_holds_all_of_it():
    told = json.loads(bench_json(report(), stand_in=""))
    assert told["agrees"] is True
    assert told["rows"][0]["spread"]["worst_s"] == 2.0
    assert told["rows"][1]["spread"]["worst_s"] is None
    assert told["nights"][0]["board"] == "aa"
    assert told["silent"]["limit_s"] == 2.5


@pytest.mark.parametrize(
    "board",
    [(), ("--pretend", "--port", "x"), ("--emulated", "--pretend"), ("--emulated", "--port", "x")],
)
def test_one_board_is_wanted(monkeypatch, capsys, board):
    result = run_here(monkeypatch, capsys, "bench", "greenhouse", *board)
    assert result.code == 2
    assert "--port PORT for a board, --pretend or --emulated for none" in result.err


@pytest.mark.parametrize(
    "args", [("--port", "no-such-port"), ("--pretend", "--night", "no-such-night")]
)
def test_what_is_not_there_is_refused_and_nothing_is_written(monkeypatch, capsys, tmp_path, args):
    page = tmp_path / "bench.html"
    result = run_here(monkeypatch, capsys, "bench", "greenhouse", *args, "--page", str(page))
    assert result.code == 2
    assert result.err.startswith("error: ")
    assert args[-1] in result.err
    assert not page.exists()


@pytest.mark.parametrize("missing", ["ziglang", "unicorn"])
def test_without_compiler_or_emulator_it_says_what_to_install(monkeypatch, capsys, missing):
    there = building.importlib.util.find_spec
    monkeypatch.setattr(
        building.importlib.util, "find_spec", lambda name: None if name == missing else there(name)
    )
    if missing != "ziglang":
        monkeypatch.setattr(building, "compiled", lambda *_: b"")
    result = run_here(monkeypatch, capsys, "bench", "greenhouse", "--emulated")
    assert result.code == 2
    assert f"{missing} not installed" in result.err
    assert "pip install 'coilward[firmware]'" in result.err


@pytest.mark.parametrize("stand_in", ["pretended", "emulated"])
def test_a_person_who_stops_it_keeps_what_was_measured(monkeypatch, capsys, tmp_path, stand_in):
    """A board on its terminal or an emulated one, and Ctrl-C in the middle of the wire's trials."""
    option = {"pretended": "--pretend", "emulated": "--emulated"}[stand_in]
    page, told = tmp_path / "bench.html", tmp_path / "bench.json"

    @contextmanager
    def stops(_name):
        def show(words, done, _total):
            if words.startswith("wire: ") and done == 1:
                raise KeyboardInterrupt

        yield show

    monkeypatch.setattr(bench, "_live", stops)
    result = run_here(
        monkeypatch, capsys, "bench", "greenhouse", option, "--repeats", "1",
        "--page", str(page), "--json", str(told),
    )  # fmt: skip
    assert result.code == 130, result.err
    assert "What was measured until then is told and written." in result.err
    assert "Stopped before its end" in result.out
    kept = json.loads(told.read_text("utf-8"))
    assert kept["stopped"] is True
    assert kept["stand_in"] == stand_in
    assert kept["findings"] == []
    assert kept["parts_done"] == ["identity", "dead-man"]
    assert len(kept["wires"]) == 4
    assert kept["ticks"] > 60
    text = page.read_text("utf-8")
    assert "NOT FINISHED" in text
    assert f"coilward bench greenhouse {option} " in text
