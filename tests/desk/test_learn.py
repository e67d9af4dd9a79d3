"""`coilward learn` as a person runs it, on a log that `rehearse` wrote."""

from __future__ import annotations

import json
import re
import tomllib

import pytest

from coilward.loop.document import read_loop
from coilward.loop.shipped import loop_text
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

WRONG = (('water = "300 L"', 'water = "260 L"'), ('fans_on = "400 W/K"', 'fans_on = "330 W/K"'))
"""What stands in the shipped greenhouse, and in the file that is to be put right."""


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


@pytest.fixture
def mine(tmp_path):
    """A greenhouse of one's own, whose file is wrong about the tank and the radiator."""
    file = tmp_path / "mine.toml"
    text = loop_text("greenhouse")
    for right, wrong in WRONG:
        assert text.count(right) == 1
        text = text.replace(right, wrong)
    file.write_text(text, encoding="utf-8")
    return file


def leaves(data, path=()):
    """Every value of a TOML table with its dotted key."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield from leaves(value, (*path, key))
    else:
        yield ".".join(path), data


def test_without_write_the_lines_are_shown_and_nothing_changes(log, mine, monkeypatch, capsys):
    before = mine.read_bytes()
    done = run_here(monkeypatch, capsys, "learn", str(mine), str(log), *ON)
    assert done.code == 0, done.err
    assert mine.read_bytes() == before
    assert "Nothing was written: --write does it." in done.out
    assert re.search(r"^ +\d+ \+ .*learned 2026-11-25$", done.out, re.M)


def test_write_changes_what_was_learned_and_no_other_line(log, mine, tmp_path, monkeypatch, capsys):
    before, told = mine.read_text("utf-8"), tmp_path / "told.json"
    done = run_here(monkeypatch, capsys, "learn", str(mine), str(log), "--write",
                    "--even-if-less-safe", "--json", str(told), *ON)  # fmt: skip
    assert done.code == 0, done.err
    data = json.loads(told.read_text())
    assert data["written"]
    after = mine.read_text("utf-8")
    old, new = (dict(leaves(tomllib.loads(text))) for text in (before, after))
    moved = {key for key in old.keys() | new.keys() if old.get(key) != new.get(key)}
    assert moved == {change["key"] for change in data["changes"]}
    assert moved >= {"tank.water", "radiator.fans_on"}
    pairs = list(zip(before.split("\n"), after.split("\n"), strict=True))
    touched = [(a, b) for a, b in pairs if a != b]
    assert len(touched) == len(moved)
    assert all(b.endswith("learned 2026-11-25") for _, b in touched)
    loop, truth = read_loop(mine), read_loop("greenhouse")
    assert loop.tank.water_l == pytest.approx(truth.tank.water_l, rel=0.03)
    assert loop.radiator.fans_on_w_k == pytest.approx(truth.radiator.fans_on_w_k, rel=0.03)
    # what was written is what the log says: learned once more, nothing is left to change there
    again = run_here(monkeypatch, capsys, "learn", str(mine), str(log), "--json", "-", *ON)
    assert not moved & {change["key"] for change in json.loads(again.out)["changes"]}


def test_a_limit_that_would_get_less_safe_needs_the_flag(log, mine, monkeypatch, capsys):
    before = mine.read_bytes()
    done = run_here(monkeypatch, capsys, "learn", str(mine), str(log), "--write", *ON)
    assert done.code == 2
    assert "would move a limit to its unsafe side" in done.err
    assert "--even-if-less-safe" in done.err
    assert mine.read_bytes() == before


def test_a_shipped_loop_is_not_written(log, monkeypatch, capsys):
    done = run_here(monkeypatch, capsys, "learn", "greenhouse", str(log), "--write", *ON)
    assert done.code == 2
    assert "coilward loops greenhouse > my-loop.toml" in done.err
