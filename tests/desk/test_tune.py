"""`coilward tune` as a person types it."""

from __future__ import annotations

import json
import re
from datetime import date

import numpy as np
import pytest

from coilward.desk.page.palette import Stroke
from coilward.desk.page.panel import Level, Line, Panel, panel
from coilward.desk.rewriting import plan, put
from coilward.desk.tune import again, rewritten
from coilward.desk.tuning import PROMISES
from coilward.loop.document import read_text
from coilward.loop.errors import InputRefused
from coilward.loop.model import Loop, Throttle
from coilward.loop.shipped import loop_text
from tests.desk.cli import ON, run_apart, run_here

DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def tuned(tmp_path_factory):
    """One tuning of the boathouse, with everything that it writes."""
    folder = tmp_path_factory.mktemp("tuned")
    page, data, file = folder / "tuned.html", folder / "tuned.json", folder / "boat.toml"
    file.write_text(loop_text("boathouse"))
    result = run_apart(
        "tune", str(file), *ON, "--write", "--page", str(page), "--json", str(data)
    )
    return result, page.read_text(), json.loads(data.read_text()), file.read_text()


def test_what_is_proposed_is_written_and_nothing_else(tuned):
    result, _, data, text = tuned
    assert result.code == 0
    assert "BROKEN" not in result.out
    assert data["written"] is True
    settings = data["proposed"]["settings"]
    shipped = loop_text("boathouse").splitlines()
    changed = [pair for pair in zip(shipped, text.splitlines(), strict=True) if len(set(pair)) > 1]
    for was, now in changed:
        key = was.split(" = ")[0]
        assert f"throttle.{key}" in settings
        assert now.endswith(f"{was[was.index('#') :]}; tuned 2026-11-25")
        assert now in result.out
    assert len(changed) >= 4
    assert read_back(text) == proposal(tuned)


def read_back(text):
    return read_text(text, Loop, file="written", sample=loop_text("greenhouse")).throttle


def proposal(tuned):
    settings = tuned[2]["proposed"]["settings"]
    return Throttle.model_validate({key.split(".")[1]: value for key, value in settings.items()})


def test_a_loop_without_the_section_gets_one_behind_everything_else(tmp_path, tuned):
    file, text = tmp_path / "bare.toml", loop_text("hot-tub")
    assert "[throttle]" not in text
    file.write_text(text)
    rewrite = rewritten(proposal(tuned), plan(str(file), [], today=DAY), DAY)
    put(rewrite)
    assert file.read_text().startswith(text)
    assert read_back(file.read_text()) == proposal(tuned)


def test_a_file_that_changed_while_it_was_tuned_is_left_alone(tmp_path, tuned):
    file = tmp_path / "boat.toml"
    file.write_text(loop_text("boathouse"))
    begun = plan(str(file), [], today=DAY)
    file.write_text(loop_text("boathouse") + "# a remark\n")
    with pytest.raises(InputRefused, match="changed since it was read"):
        put(rewritten(proposal(tuned), begun, DAY))
    assert file.read_text().endswith("# a remark\n")


def test_a_shipped_loop_is_refused_before_anything_runs(monkeypatch, capsys):
    result = run_here(monkeypatch, capsys, "tune", "greenhouse", *ON, "--write")
    assert result.code == 2
    assert "a shipped loop can't be written to" in result.err
    assert result.out == ""


def test_the_json_tells_everything_measured(tuned):
    _, _, data, _ = tuned
    assert data["answer"] in " ".join(tuned[0].out.split())
    assert {check["key"] for check in data["promises"]} == set(PROMISES)
    assert all(check["held"] for check in data["promises"])
    assert len(data["measured"]) == len(data["proposed"]["margins"])
    for place in data["measured"]:
        assert place["lag_s"]["within"] > 0.0
        assert place["relay"]["period_s"] > 10.0
    now, was = data["proposed"]["surges"], data["present"]["surges"]
    assert max(each["moves_1_h"] for each in now) <= 60.0 < max(each["moves_1_h"] for each in was)


def test_the_page_stands_alone_and_shows_before_and_after(tuned):
    _, page, data, _ = tuned
    assert data["answer"] in page
    assert page.count("<svg") >= 7
    assert "dump trip" in page
    assert "http://" not in re.sub(r'xmlns="[^"]*"', "", page)
    assert "Take care" in page
    assert "--upright" in page


def test_the_command_that_shows_it_again_keeps_seed_day_and_units():
    assert again("my loop", 3, date(2026, 1, 2), "us") == (
        "coilward tune 'my loop' --seed 3 --on 2026-01-02 --units us --page tuned.html"
    )


def test_a_tub_has_nothing_to_tune(monkeypatch, capsys, tmp_path):
    result = run_here(monkeypatch, capsys, "tune", "hot-tub")
    assert result.code == 0
    assert result.out.strip() == "The valve of a tub is always open: there is nothing to tune."
    told = run_here(monkeypatch, capsys, "tune", "hot-tub", "--json", "-")
    assert "nothing to tune" in json.loads(told.out)["nothing_to_tune"]
    kept = tmp_path / "tub.json"
    run_here(monkeypatch, capsys, "tune", "hot-tub", "--json", str(kept))
    assert kept.read_text() == told.out


def test_a_loop_that_is_not_sound_is_not_tuned(monkeypatch, capsys, tmp_path):
    file = tmp_path / "hot.toml"
    hot = loop_text("greenhouse").replace('largest = "18 kW"', 'largest = "30 kW"')
    file.write_text(hot.replace("fans_on = \"400 W/K\"", "fans_on = \"60 W/K\""))
    result = run_here(monkeypatch, capsys, "tune", str(file), *ON)
    assert result.code == 1
    assert result.err.startswith("error: nothing is tuned on a loop that is not sound")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("gain = 0.25 ", "gain = 5 ", "at most 4"),
        ("gain = 0.25 ", "gain = -1 ", "too low"),
        ("reset_transits = 0.5 ", "reset_transits = 0 ", "at least 0.05"),
        ('dead_band = "1.5 K"', "dead_band = 1.5", "unit"),
        ('flow_band = "0 %"', 'flow_band = "30 %"', "at most"),
        ("gain_slope = 0 ", "gain_slop = 0 ", 'the nearest is "gain_slope"'),
    ],
)  # fmt: skip
def test_bad_settings_are_refused_with_their_line(monkeypatch, capsys, tmp_path, old, new, words):
    file = tmp_path / "bad.toml"
    text = loop_text("greenhouse")
    assert old in text
    file.write_text(text.replace(old, new))
    result = run_here(monkeypatch, capsys, "tune", str(file), *ON)
    assert result.code == 2
    (message,) = result.err.strip().splitlines()
    assert "throttle." in message
    assert words in message


@pytest.mark.parametrize("where", ["/no/such/folder/x.html", "."])
def test_outputs_are_refused_before_anything_runs(monkeypatch, capsys, where):
    result = run_here(monkeypatch, capsys, "tune", "greenhouse", "--page", where)
    assert result.code == 2
    assert "--page" in result.err


def test_a_missing_loop_is_one_error(monkeypatch, capsys):
    result = run_here(monkeypatch, capsys, "tune", "grenhouse")
    assert result.code == 2
    assert 'nearest shipped name is "greenhouse"' in result.err


def test_a_panel_keeps_its_lines_inside_and_names_its_levels():
    line = Line(np.array([0.0, 10.0]), np.array([-5.0, 50.0]), Stroke("#000000", 1.0), dots=True)
    svg = panel(Panel("K & more", "min", [line], [Level(2.0, "trip")]), 200.0, 100.0, (0.0, 4.0))
    assert "K &amp; more" in svg
    assert ">trip<" in svg
    heights = [float(y) for y in re.findall(r'cy="([\d.]+)"', svg)]
    assert heights == [72.0, 20.0]
