"""`coilward calibrate`, as a person runs it."""

from __future__ import annotations

import json
import os
import pty
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from coilward.desk.asking import kept_name, typed_readings
from coilward.loop.document import read_loop
from coilward.loop.errors import InputRefused
from coilward.loop.shipped import WRITTEN, loop_text
from coilward.measuring.meter import COLUMNS
from coilward.measuring.readings import from_csv
from tests.desk.cli import run_here
from tests.measuring.tables import DIGITAL, METER, NTC, PUMP, VALVE

ROOT = Path(__file__).parents[2]
ON = ("--on", "2026-11-25")
RUNS = {
    "meter": (METER, ["--step", "20 g"], {"meter.pulses"}),
    "ntc": (NTC, ["--sensor", "tank"], {"sensors.tank.error", "sensors.tank.ntc.a",
            "sensors.tank.ntc.b", "sensors.tank.ntc.c"}),
    "digital": (DIGITAL, ["--sensor", "coil_outlet_b"], {"sensors.coil_outlet_b.error",
                "sensors.coil_outlet_b.correction.gain", "sensors.coil_outlet_b.correction.zero"}),
    "valve": (VALVE, ["--shut", "149", "--open", "60"], {"valve.crack_open", "valve.backlash",
              "valve.stop"}),
    "pump": (PUMP, [], {"pump.current", "pump.current_low", "pump.current_high"}),
}  # fmt: skip


@pytest.fixture
def here(tmp_path, monkeypatch, capsys):
    """Runs one calibration in a folder of its own, on a greenhouse of one's own."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(loop_text("greenhouse"), encoding="utf-8")

    def run(name, *args, table=None, loop="mine.toml"):
        text, options, _ = RUNS[name]
        (tmp_path / "t.csv").write_text(text if table is None else table, encoding="utf-8")
        command = {"ntc": "thermometer", "digital": "thermometer"}.get(name, name)
        return run_here(
            monkeypatch, capsys, "calibrate", command, "t.csv", "--loop", loop, *options, *ON, *args
        )

    run.file = tmp_path / "mine.toml"
    return run


def leaves(data, path=()):
    if isinstance(data, dict):
        for key, value in data.items():
            yield from leaves(value, (*path, key))
    else:
        yield ".".join(path), data


@pytest.mark.parametrize("name", RUNS)
def test_without_write_nothing_changes_and_the_lines_are_shown(here, name):
    before = here.file.read_bytes()
    result = here(name)
    assert result.code == 0, result.err
    assert here.file.read_bytes() == before
    assert "Nothing was written: --write does it." in result.out
    assert re.search(r"^ +\d+ \+ .*calibrated 2026-11-25$", result.out, re.M)


@pytest.mark.parametrize("name", RUNS)
def test_write_changes_its_own_values_and_no_other_line(here, name):
    before = here.file.read_text("utf-8")
    result = here(name, "--write", "--even-if-less-safe")
    assert result.code == 0, result.err
    after = here.file.read_text("utf-8")
    old, new = (dict(leaves(tomllib.loads(text))) for text in (before, after))
    moved = {key for key in old.keys() | new.keys() if old.get(key) != new.get(key)}
    assert moved <= RUNS[name][2]
    assert moved
    olds, news = before.split("\n"), after.split("\n")
    assert len(olds) == len(news)
    touched = [(a, b) for a, b in zip(olds, news, strict=True) if a != b]
    assert all(b.endswith("calibrated 2026-11-25") for _, b in touched)
    assert all(a.split("#")[0].split("=")[0] == b.split("#")[0].split("=")[0] for a, b in touched)
    assert all(("#" in a) <= (a.split("#")[-1] in b) for a, b in touched)
    assert read_loop(here.file)
    # once more gives the same constants, and only the date could differ
    assert here(name, "--write", "--even-if-less-safe").code == 0
    assert here.file.read_text("utf-8") == after


def test_a_unit_per_gallon_stays_in_the_file(here):
    text = here.file.read_text("utf-8").replace("345 pulses/L", "1306 pulses/gal")
    here.file.write_text(text, encoding="utf-8")
    assert here("meter", "--write").code == 0
    [line] = [each for each in here.file.read_text("utf-8").split("\n") if "pulses/gal" in each]
    assert line.startswith('pulses = "12')
    assert read_loop(here.file).meter.pulses_per_litre == pytest.approx(342, rel=0.005)


def test_a_trip_that_would_get_less_safe_is_named_and_needs_the_flag(here):
    before = here.file.read_bytes()
    table = PUMP.replace("dry, 1.6", "dry, 1.2").replace("dry, 1.70", "dry, 1.20")
    result = here("pump", "--write", table=table.replace("dry, 1.25", "dry, 1.2"))
    assert result.code == 2
    assert "pump current, low from 2.4 A to" in result.err
    assert "--even-if-less-safe" in result.err
    assert here.file.read_bytes() == before


def test_a_shipped_loop_is_shown_but_not_written(here):
    assert here("meter", loop="greenhouse").code == 0
    result = here("meter", "--write", loop="greenhouse")
    assert result.code == 2
    assert "coilward loops greenhouse > my-loop.toml" in result.err


def test_a_stop_that_passes_too_little_is_a_finding(here):
    result = here("valve", table=VALVE.replace("105, 4.6", "105, 3.9"))
    assert result.code == 1
    assert "The stop passes 3.90 L/min, less than" in result.out
    assert here("valve").code == 0


@pytest.mark.parametrize("name", RUNS)
def test_json_carries_the_numbers_in_si(here, name):
    result = here(name, "--json", "-", "--units", "us")
    data = json.loads(result.out)
    assert data["loop"] == "greenhouse"
    assert data["date"] == "2026-11-25"
    assert set(data["changes"]) >= RUNS[name][2] - {"pump.current"}
    assert data["written"] is False
    assert data == json.loads(here(name, "--json", "-").out) | {"answer": data["answer"]}


@pytest.mark.parametrize("name", RUNS)
def test_the_page_stands_alone_on_one_side_with_its_picture(here, name, tmp_path):
    assert here(name, "--page", "c.html").code == 0
    page = (tmp_path / "c.html").read_text("utf-8")
    assert page.count("<svg") == 1
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")
    for words in ("certificate of calibration", "Date and signature", "Measured by", "t.csv",
                  "calibrated 2026-11-25", "Take care", "--upright"):  # fmt: skip
        assert words in page
    points = len(re.findall(r'r="3\.4" fill="#000"', page))
    rows = RUNS[name][0].count("\n") - 1
    assert points >= {"valve": 8, "ntc": 3, "digital": 2}.get(name, rows)


def test_a_page_shows_no_markup_from_a_file(here):
    text = here.file.read_text("utf-8").replace('name = "greenhouse"', 'name = "<b>&"')
    here.file.write_text(text, encoding="utf-8")
    assert here("meter", "--page", "c.html").code == 0
    page = (here.file.parent / "c.html").read_text("utf-8")
    assert "<b>&:" not in page
    assert "&lt;b&gt;&amp;: flow meter" in page


@pytest.mark.parametrize(
    ("name", "table", "words"),
    [
        ("meter", "", "the file is empty"),
        ("meter", "\0\1", "the file is binary"),
        ("meter", "1" * 1_000_001, "larger than 1000 kB"),
        ("meter", "pulses, mass kg, water degC\n3119, 19.9, 12\n", "pounds were typed"),
        ("ntc", NTC.replace("40,", "140,"), "t.csv:3: reference = 140 degC"),
        ("pump", "state, current A\nrunning, 4\n", "fewer than 3 readings"),
    ],
)
def test_a_bad_table_is_refused_and_nothing_is_written(here, name, table, words):
    before = here.file.read_bytes()
    result = here(name, "--write", "--page", "c.html", table=table)
    assert result.code == 2
    assert words in result.err
    assert result.out == ""
    assert here.file.read_bytes() == before
    assert not (here.file.parent / "c.html").exists()


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["meter", "t.csv", "--loop", "mine.toml", "--step", "3"], "the number has no unit"),
        (["meter", "t.csv", "--loop", "mine.toml", "--step", "0 g"], "this is too low"),
        (["meter", "no.csv", "--loop", "mine.toml"], "there is no such file"),
        (["meter", "t.csv", "--loop", "no.toml"], "there is no such file"),
        (["meter", "t.csv", "--loop", "mine.toml", "--page", "mine.toml"], "file that is read"),
        (["meter", "t.csv", "--loop", "mine.toml", "--page", "t.csv"], "file that is read"),
        (["thermometer", "t.csv", "--loop", "mine.toml", "--sensor", "tonk"], "no such thermom"),
        (["valve", "t.csv", "--loop", "mine.toml", "--shut", "149"], "both ends of the servo"),
        (["meter", "--loop", "mine.toml"], "no readings of a meter"),
    ],
)
def test_bad_use_is_told(here, monkeypatch, capsys, args, words):
    (here.file.parent / "t.csv").write_text(METER, encoding="utf-8")
    monkeypatch.setattr("sys.stdin.isatty", lambda: False, raising=False)
    result = run_here(monkeypatch, capsys, "calibrate", *args)
    assert result.code == 2
    assert words in result.err


# --- at a prompt ---


class Typist:
    """Answers one question after the other."""

    def __init__(self, *lines):
        self.lines = iter(lines)

    def __call__(self, _):
        line = next(self.lines)
        if isinstance(line, BaseException):
            raise line
        return line


def test_a_unit_typed_once_holds_and_a_slip_is_asked_again(tmp_path, capsys):
    ask = Typist(
        "3119", "19.9", "19.9 lb", "", "53.6 degF", "60 s", "",
        "x", "3120", "20.0", "", "54", "61", "", "",
    )  # fmt: skip
    keep = tmp_path / "k.csv"
    first, second = typed_readings(COLUMNS, keep, ask)
    assert first.number("mass") == pytest.approx(9.0265, abs=1e-4)
    assert second.number("mass") == pytest.approx(9.0718, abs=1e-4)
    assert second.number("water") == pytest.approx((54 - 32) / 1.8)
    said = capsys.readouterr().err
    assert "the number has no unit. Accepted: a mass in kg, g, lb" in said
    assert "is not one number" in said
    assert "at least 1" in said
    # what was kept is a table that gives the same
    again = list(from_csv(keep.read_text("utf-8"), COLUMNS, "k.csv"))
    assert [each.values for each in again] == [first.values, second.values]


@pytest.mark.parametrize("stop", [KeyboardInterrupt(), EOFError()])
def test_stopping_loses_nothing_that_was_typed(tmp_path, stop):
    keep = tmp_path / "k.csv"
    ask = Typist("3119", "9.03 kg", "", "12 degC", "", "", "3150", "9.1", stop)
    got = []
    try:
        got.extend(typed_readings(COLUMNS, keep, ask))
    except KeyboardInterrupt:
        assert isinstance(stop, KeyboardInterrupt)
    lines = keep.read_text("utf-8").splitlines()
    assert lines[1] == "3119, 9.03 kg, , 12 degC, , "
    assert lines[2] == "# not finished: 3150, 9.1 kg, , , , "
    assert len(list(from_csv(keep.read_text("utf-8"), COLUMNS, "k.csv"))) == 1


def test_a_finished_line_is_on_the_disk_before_the_next_is_asked_for(tmp_path):
    keep = tmp_path / "k.csv"
    lines = typed_readings(COLUMNS, keep, Typist("3119", "9.03 kg", "", "12 degC", "", "", ""))
    next(lines)
    assert keep.read_text("utf-8").splitlines()[1:] == ["3119, 9.03 kg, , 12 degC, , "]


def test_an_offset_that_the_constants_take_off_is_set_to_nothing(here):
    kind = 'coil_outlet_b = { kind = "digital",'
    text = here.file.read_text("utf-8").replace(kind, f'{kind} offset = "0.9 delta_F",')
    here.file.write_text(text, encoding="utf-8")
    assert here("digital", "--write").code == 0
    assert 'offset = "0 delta_F"' in here.file.read_text("utf-8")


def test_a_table_that_is_there_is_never_overwritten(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    first = kept_name("meter", WRITTEN)
    first.write_text("mine")
    assert kept_name("meter", WRITTEN).name == "coilward-meter-2026-11-25-2.csv"
    with pytest.raises(InputRefused):
        list(typed_readings(COLUMNS, first, Typist("")))
    assert first.read_text() == "mine"


def test_the_whole_command_at_a_terminal(here):
    """In a process of its own, on a terminal of its own."""
    master, slave = pty.openpty()
    command = [sys.executable, "-m", "coilward", "calibrate", "meter", "--loop", "mine.toml", *ON]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        command, cwd=here.file.parent, stdin=slave, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True, encoding="utf-8", env=env,
    ) as process:  # fmt: skip
        os.write(master, b"3119\n19.9 lb\n\n53.6 degF\n60 s\n\n\n")
        out, err = process.communicate(timeout=120)
    os.close(master)
    os.close(slave)
    assert process.returncode == 0, err
    assert "345.0 ± 7.1 pulses/L" in out
    assert "345.0 pulses/L, known to 2.1 %." in out
    assert "mass, lb" not in out
    assert "1  mass: " in err
    assert (here.file.parent / "coilward-meter-2026-11-25.csv").exists()


def test_help_shows_the_table_and_an_example(monkeypatch, capsys):
    for command in ("meter", "thermometer", "valve", "pump"):
        said = " ".join(run_here(monkeypatch, capsys, "calibrate", command, "--help").out.split())
        assert "Table:" in said
        assert f"Example: coilward calibrate {command}" in said
