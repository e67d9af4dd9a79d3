"""Logs that are hard to read: accepted as meant, or refused with one clear error."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.learning.columns import recognised
from coilward.learning.reading import read_log
from coilward.loop.errors import InputRefused

HEAD = "time s,coil outlet degC,tank degC,room degC,flow L/min,fans %"


def rows(count=100, start=0):
    return [f"{start + 5 * k},50.0,20.0,8.0,4.5,100" for k in range(count)]


def written(tmp_path, lines, name="log.csv"):
    path = tmp_path / name
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return str(path)


def refused(path, columns=None):
    with pytest.raises(InputRefused) as caught:
        read_log(path, columns)
    (fault,) = caught.value.faults
    assert fault.accepted
    return fault


def test_reads_what_it_says(tmp_path):
    log = read_log(written(tmp_path, [HEAD, *rows()]))
    assert len(log.time_s) == 100
    assert log.time_s[-1] == 495.0
    assert log.columns["fans"][0] == 1.0
    assert log.lines[0] == 2


def test_units_are_converted(tmp_path):
    """Exact: 140 degF is 60 degC, 1 gpm is 3.785411784 L/min, 1 lb is 0.45359237 kg."""
    head = "time min,coil outlet degF,tank degF,room degF,flow gpm,fans share,wood lb"
    lines = [head, *(f"{k},140,68,50,1,0.5,{1 if k == 3 else 0}" for k in range(80))]
    log = read_log(written(tmp_path, lines))
    assert log.time_s[1] == 60.0
    assert log.columns["coil_outlet"][0] == pytest.approx(60.0)
    assert log.columns["flow"][0] == pytest.approx(3.785411784)
    assert log.columns["wood"].sum() == pytest.approx(0.45359237)


def test_a_clock_goes_over_midnight(tmp_path):
    head = HEAD.replace("time s", "time")
    minutes = [22 * 60 + 20 * k for k in range(120)]
    lines = [f"{m // 60 % 24:02d}:{m % 60:02d}:00,50,20,8,4.5,100" for m in minutes]
    log = read_log(written(tmp_path, [head, *lines]))
    assert np.allclose(np.diff(log.time_s), 1200.0)


def test_empty_cells_are_gaps(tmp_path):
    lines = rows()
    lines[7] = "35,nan,,8.0,4.5,100"
    log = read_log(written(tmp_path, [HEAD, *lines]))
    assert np.isnan(log.columns["coil_outlet"][7])
    assert np.isnan(log.columns["tank"][7])


HOSTILE = {
    "text in a number": (3, "10,hot,20,8,4.5,100", 4, "not a number"),
    "infinite": (3, "15,inf,20,8,4.5,100", 5, "not a number"),
    "decimal comma": (3, '15,"50,1",20,8,4.5,100', 5, "comma"),
    "a cell too many": (3, "15,50,1,20,8,4.5,100", 5, "7 cells"),
    "backwards": (3, "2,50,20,8,4.5,100", 5, "backwards"),
    "twice": (3, "10,50,20,8,4.5,100", 5, "same time"),
    "too hot": (3, "15,500,20,8,4.5,100", 5, "cannot be 500"),
    "negative flow": (3, "15,50,20,8,-4.5,100", 5, "cannot be -4.5"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_bad_row_is_refused_with_its_line(tmp_path, name):
    row, line, at_line, words = HOSTILE[name]
    lines = rows()
    if name == "text in a number":
        row = 2
    lines[row] = line
    fault = refused(written(tmp_path, [HEAD, *lines]))
    assert fault.line == at_line
    assert words in fault.problem


HEADS = {
    HEAD.replace("tank degC", "tank"): "no unit",
    HEAD.replace("time s", "when"): "no column of the time",
    HEAD.replace("room degC", "tank_c"): "so may",
}


@pytest.mark.parametrize("head", HEADS)
def test_a_heading_in_doubt_is_refused(tmp_path, head):
    assert HEADS[head] in refused(written(tmp_path, [head, *rows()])).problem


def test_files_that_are_no_log(tmp_path):
    assert "no such file" in refused(str(tmp_path / "none.csv")).problem
    assert "directory" in refused(str(tmp_path)).problem
    assert "empty" in refused(written(tmp_path, [""])).problem
    assert "too short" in refused(written(tmp_path, [HEAD, *rows(1)])).problem
    (tmp_path / "b.csv").write_bytes(b"time s,\0\1")
    assert "binary" in refused(str(tmp_path / "b.csv")).problem
    (tmp_path / "l.csv").write_bytes(b"time s\n\xff\xfe\n")
    assert "UTF-8" in refused(str(tmp_path / "l.csv")).problem


def test_a_huge_file_is_refused_before_it_is_read_whole(tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as stream:
        stream.truncate(100_000_002)
    assert "larger" in refused(str(path)).problem


MAP = """coilward = 1
time = { column = "t", unit = "s" }
coil_outlet = { column = "a", unit = "degF" }
tank = { column = "b", unit = "degF" }
flow = { column = "f", unit = "gpm" }
room = { always = "46.4 degF" }
fans = { always = "100 %" }
"""


def mapped(tmp_path, text):
    path = tmp_path / "map.toml"
    path.write_text(text, encoding="utf-8")
    log = written(tmp_path, ["t,a,b,f", *(f"{5 * k},140,68,1" for k in range(100))])
    return log, str(path)


def test_a_map_says_what_is_what(tmp_path):
    log = read_log(*mapped(tmp_path, MAP))
    assert log.columns["coil_outlet"][0] == pytest.approx(60.0)
    assert log.columns["room"][5] == pytest.approx(8.0)
    assert log.columns["fans"][5] == 1.0


@pytest.mark.parametrize(("was", "now", "words"), [
    ('column = "b"', 'column = "bb"', "no such column"),
    ('unit = "gpm"', 'unit = "degF"', "not a unit of a flow"),
    ('"46.4 degF"', '"46.4"', "no unit"),
    ("tank =", "tnak =", "nearest"),
])  # fmt: skip
def test_a_bad_map_is_refused(tmp_path, was, now, words):
    assert words in refused(*mapped(tmp_path, MAP.replace(was, now))).problem


@pytest.mark.parametrize(("head", "key", "unit"), [
    ("tank_c", "tank", "c"), ("Tank [degF]", "tank", "degF"), ("flow_lpm", "flow", "lpm"),
    ("coil outlet (°F)", "coil_outlet", "°F"), ("pressure kPa", None, None),
])  # fmt: skip
def test_headings(head, key, unit):
    assert recognised(head) == (key, unit)
