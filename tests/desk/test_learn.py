"""`coilward learn` as a person runs it, on a log that `rehearse` wrote."""

from __future__ import annotations

import json
import re

import pytest

from tests.desk.cli import ON, run_here

NIGHT = """coilward = 1
name = "short burn"
duration = "100 min"
start = "running"
[[moment]]
at = "1 min"
do = "hold"
heat = "nominal"
[[moment]]
at = "40 min"
do = "finish"
"""


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    """A rehearsed burn as a log, kept for the module."""
    folder = tmp_path_factory.mktemp("burn")
    (folder / "night.toml").write_text(NIGHT)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.argv", ["coilward", "rehearse", "greenhouse", "--night",
                                   str(folder / "night.toml"), "--csv", str(folder / "log.csv"),
                                   "--json", str(folder / "run.json"), *ON])  # fmt: skip
        patch.setattr("signal.signal", lambda *_: None)
        from coilward.desk.commands import main

        with pytest.raises(SystemExit):
            main()
    return folder / "log.csv"


def test_the_csv_is_a_log(log):
    head = log.read_text().splitlines()[0].split(",")
    assert head[:2] == ["time s", "coil outlet degC"]
    assert len(log.read_text().splitlines()) == 6002


def test_learns_the_loop_that_the_log_came_from(log, tmp_path, monkeypatch, capsys):
    """The log was made with the loop file's own numbers: what is told holds them."""
    told, page = tmp_path / "told.json", tmp_path / "page.html"
    done = run_here(monkeypatch, capsys, "learn", "greenhouse", str(log), "--json", str(told),
                    "--page", str(page), *ON)  # fmt: skip
    assert done.code == 0, done.err
    data = json.loads(told.read_text())
    numbers = {each["key"]: each for each in data["numbers"]}
    for key in ("radiator.fans_on", "radiator.fans_off", "tank.water", "fire.decay"):
        assert numbers[key]["told"], key
        assert numbers[key]["low"] <= numbers[key]["file"] <= numbers[key]["high"], key
    water = numbers["tank.water"]
    assert water["high"] - water["low"] < 0.05 * water["file"]
    assert not numbers["sensors.tank.offset"]["told"]
    assert "What it can't tell" in done.out
    assert "twenty minutes" in done.out
    text = page.read_text()
    assert text.count("<svg") == 3
    assert "Take care" in text
    assert not re.search(r"(src|href)=.http", text)


def test_us_units(log, monkeypatch, capsys):
    done = run_here(monkeypatch, capsys, "learn", "greenhouse", str(log), "--units", "us", *ON)
    assert "BTU/h/F°" in done.out
    assert "W/K" not in done.out.split("What would change")[0]


def test_fahrenheit_read_as_celsius_is_refused(log, tmp_path, monkeypatch, capsys):
    lines = log.read_text().splitlines()
    spoiled = tmp_path / "f.csv"
    rows = [line.split(",") for line in lines[1:]]
    for row in rows:
        row[1] = f"{float(row[1]) * 1.8 + 32 if row[1] else 0:.3f}"
    spoiled.write_text("\n".join([lines[0], *(",".join(row) for row in rows)]) + "\n")
    told = tmp_path / "told.json"
    done = run_here(monkeypatch, capsys, "learn", "greenhouse", str(spoiled), "--json", str(told),
                    *ON)  # fmt: skip
    assert done.code == 2
    assert re.search(r"f\.csv:\d+: coil_outlet", done.err)
    assert "Accepted:" in done.err
    assert not told.exists()


def test_gallons_read_as_litres_are_refused(log, tmp_path, monkeypatch, capsys):
    lines = log.read_text().splitlines()
    spoiled = tmp_path / "g.csv"
    spoiled.write_text("\n".join([lines[0].replace("flow L/min", "flow gpm"), *lines[1:]]) + "\n")
    done = run_here(monkeypatch, capsys, "learn", "greenhouse", str(spoiled), *ON)
    assert done.code == 2
    assert "flow" in done.err
    assert "unit" in done.err


def test_a_loop_or_log_that_is_an_output_too_is_refused(log, monkeypatch, capsys):
    done = run_here(monkeypatch, capsys, "learn", "greenhouse", str(log), "--page", str(log), *ON)
    assert done.code == 2
    assert "the file that is read" in done.err
