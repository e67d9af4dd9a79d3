"""The commands: output, exit codes, refusals."""

from __future__ import annotations

import json
import re
import time

import pytest

from coilward.loop.shipped import loop_names, loop_text
from coilward.simulator.night import night_names, night_text
from tests.desk.cli import ON, run_apart, run_here
from tests.loop.broken_files import BROKEN_FILES, BROKEN_IDS


@pytest.fixture
def cli(monkeypatch, capsys):
    return lambda *args: run_here(monkeypatch, capsys, *args)


@pytest.mark.parametrize(
    "command",
    [(), ("check",), ("rehearse",), ("interlocks",), ("prove",), ("loops",), ("nights",)],
)
def test_every_help_has_an_example(cli, command):
    result = cli(*command, "--help")
    assert result.code == 0
    assert "Example: coilward" in result.out


def test_the_help_comes_quickly():
    """Nothing heavy is loaded for it; the time is a bound that only a gross fault breaks."""
    code = (
        "import sys; from coilward.desk.commands import app\n"
        "try: app(['--help'])\nexcept SystemExit: pass\n"
        "heavy = {'numpy', 'numba', 'bokeh', 'scipy', 'pydantic'} & set(sys.modules)\n"
        "sys.exit(', '.join(heavy) or 0)"
    )
    begun = time.perf_counter()
    result = run_apart(code=code)
    assert (result.code, result.err) == (0, "")
    assert time.perf_counter() - begun < 5


def test_the_version(cli):
    assert cli("--version").out.startswith("coilward ")


@pytest.mark.parametrize(
    "args",
    [
        ("heat",), ("check",), ("check", "greenhouse", "--units", "metric"),
        ("rehearse", "greenhouse", "--seed", "one"), ("rehearse", "greenhouse", "--seed", "-1"),
        ("rehearse", "greenhouse", "--night"), ("check", "greenhouse", "--on", "tomorrow"),
        ("loops", "barn"), ("nights", "barn"), ("check", "barn"),
        ("rehearse", "greenhouse", "--night", "barn"),
    ],
)  # fmt: skip
def test_wrong_use_is_two_and_leaves_no_traceback(cli, args):
    result = cli(*args)
    assert result.code == 2
    assert result.err
    assert "Traceback" not in result.err + result.out


@pytest.mark.parametrize("kind", ["loops", "nights"])
def test_the_lists_name_everything_that_is_shipped(cli, kind):
    result = cli(kind)
    assert result.code == 0
    for name in loop_names() if kind == "loops" else night_names():
        assert f"\n  {name} " in result.out


def test_a_shipped_file_is_printed_as_it_is(cli):
    for name in loop_names():
        assert cli("loops", name) == (0, loop_text(name), "")
    for name in night_names():
        assert cli("nights", name) == (0, night_text(name), "")


def test_the_wrong_name_is_told_with_the_right_ones(cli):
    result = cli("loops", "barn")
    assert result.err == (
        "error: barn: no shipped loop has this name. Accepted: boathouse, greenhouse, hot-tub.\n"
    )


@pytest.mark.parametrize("name", loop_names())
def test_check_says_everything_in_order(cli, name):
    result = cli("check", name, *ON)
    assert result.code == 0
    places = [
        result.out.index(words)
        for words in (
            "The file: nothing is wrong", "\nLayout", "\nPassive hardware", "\nSoundness",
            "\nDerived numbers", "boiling at the site", "\nTake care",
            "not a certified protective device",
        )
    ]  # fmt: skip
    assert places == sorted(places)
    assert max(map(len, result.out.splitlines())) <= 80
    assert "\x1b" not in result.out


def test_check_in_us_units(cli):
    result = cli("check", "greenhouse", "--units", "us", *ON)
    assert "boiling at the site: 206.0 °F" in result.out
    assert "61.4 kBTU/h" in result.out
    assert "boiling at the site: 96.6 °C" in cli("check", "greenhouse", *ON).out


def edited(tmp_path, *edits):
    text = loop_text("greenhouse")
    for old, new in edits:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


FORBIDDEN = ('"coil", "vent"', '"coil", "shut-off", "vent"')
UNSOUND = ('fans_on = "400 W/K"', 'fans_on = "100 W/K"')


@pytest.mark.parametrize(
    ("edit", "key"), [(FORBIDDEN, "valve-before-vent"), (UNSOUND, "tank-settles-hot")]
)
def test_check_leaves_with_one_where_a_fire_is_forbidden(cli, tmp_path, edit, key):
    out = tmp_path / "check.json"
    result = cli("check", edited(tmp_path, edit), "--json", str(out), *ON)
    assert result.code == 1
    assert "Do not light:" in result.out
    found = json.loads(out.read_text(encoding="utf-8"))
    keys = [finding["key"] for finding in found["findings"] if finding["severity"] == "stop"]
    assert key in keys
    assert len(keys) == len(set(keys))


def test_a_vent_past_its_proof_forbids_a_fire(cli):
    result = cli("check", "greenhouse", "--on", "2029-01-01")
    assert result.code == 1
    assert "proof ran out" in " ".join(result.out.split())


def test_the_json_of_check(cli):
    result = cli("check", "greenhouse", "--json", "-", *ON)
    assert (result.code, result.err) == (0, "")
    found = json.loads(result.out)
    assert list(found) == ["loop_id", "findings", "derived"]
    [boiling] = [line for line in found["derived"] if line["name"] == "boiling at the site"]
    assert list(boiling) == ["name", "value", "unit", "formula", "reason"]
    assert boiling["unit"] == "c"
    # IAPWS-IF97 at the standard atmosphere of 1000 m: 96.65 °C (computed, second opinion).
    assert boiling["value"] == pytest.approx(96.65, abs=0.01)


def test_a_typed_limit_on_the_unsafe_side_is_refused_after_the_numbers(cli, tmp_path):
    path = edited(tmp_path, ('set_point = "60 degC"', 'set_point = "94 degC"'))
    result = cli("check", path, *ON)
    assert result.code == 2
    assert "Derived numbers" in result.out
    line = loop_text("greenhouse").splitlines().index(
        'set_point = "60 degC"           # what the throttle aims at, at the coil outlet'
    )
    assert result.err.startswith(f'error: {path}:{line + 1}: limits.set_point = "94 degC": ')
    assert "at most 65.0 °C" in result.err
    assert result.err.count("\n") == 1


@pytest.mark.parametrize("command", ["check", "rehearse"])
def test_a_refused_limit_writes_nothing(cli, tmp_path, command):
    path = edited(tmp_path, ('set_point = "60 degC"', 'set_point = "94 degC"'))
    result = cli(command, path, "--json", str(tmp_path / "out.json"), *ON)
    assert (result.code, result.out) == (2, "")
    assert [each.name for each in tmp_path.iterdir()] == ["mine.toml"]


@pytest.mark.parametrize(("name", "kind", "make"), BROKEN_FILES, ids=BROKEN_IDS)
def test_a_broken_file_is_refused_and_nothing_is_written(cli, tmp_path, name, kind, make):
    (tmp_path / "in").mkdir()
    (tmp_path / "out").mkdir()
    path = str(make(tmp_path / "in"))
    outputs = ["--json", str(tmp_path / "out" / "a.json")]
    pages = ["--page", str(tmp_path / "out" / "a.html")]
    results = [
        cli("rehearse", *([path] if kind == "loop" else ["greenhouse", "--night", path]),
            *outputs, *pages),
    ]  # fmt: skip
    if kind == "loop":
        results.append(cli("check", path, *outputs))
    for result in results:
        assert result.code == 2
        assert result.out == ""
        assert "Traceback" not in result.err
        lines = result.err.splitlines()
        assert lines
        for line in lines:
            assert line.startswith(f"error: {path}")
            assert " Accepted: " in line
    assert list((tmp_path / "out").iterdir()) == []


def test_an_output_that_can_not_be_written_is_refused_before_the_run(cli, tmp_path, monkeypatch):
    def never(*_, **__):
        raise AssertionError("the run has started")

    monkeypatch.setattr("coilward.simulator.rehearsal.rehearse", never)
    for option in ("--json", "--page"):
        result = cli("rehearse", "greenhouse", option, str(tmp_path / "no" / "out"))
        assert result.code == 2
        assert f"{option}: there is no such folder" in result.err


INTERRUPTED = """
import os, signal, sys, time
# A shell that starts the tests in the background has them ignore the key.
signal.signal(signal.SIGINT, signal.default_int_handler)
from coilward.simulator import rehearsal
def press():
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(0.01)
class Finalized:
    def __del__(self):
        press()
def rehearse(*args, **kwargs):
    PRESS
    time.sleep(30)
    sys.exit("not interrupted")
rehearsal.rehearse = rehearse
from coilward.desk.commands import main
sys.argv[0] = "coilward"
main()
"""


@pytest.mark.parametrize("press", ["press()", "Finalized()"])
def test_an_interrupted_run_leaves_nothing(tmp_path, press):
    """Also where the interruption falls into a finalizer, which the interpreter only reports."""
    result = run_apart(
        "rehearse", "greenhouse", "--json", "a.json", "--page", "a.html",
        cwd=tmp_path, code=INTERRUPTED.replace("PRESS", press),
    )  # fmt: skip
    assert result.code == 130
    assert result.out == ""
    assert "Traceback" not in result.err
    assert list(tmp_path.iterdir()) == []


def test_a_reader_that_stops_listening_is_no_error():
    code = (
        "import subprocess, sys\n"
        "p = subprocess.Popen([sys.executable, '-m', 'coilward', 'loops', 'greenhouse'],"
        " stdout=subprocess.PIPE, stderr=subprocess.PIPE)\n"
        "p.stdout.close()\n"
        "sys.stdout.write(p.stderr.read().decode())\n"
        "p.wait()\n"
    )
    assert run_apart(code=code) == (0, "", "")


def test_an_output_that_knows_only_ascii_does_not_stop_the_command(tmp_path):
    code = "import sys; from coilward.desk.commands import main; main()"
    env_first = "import os; os.environ['PYTHONIOENCODING'] = 'ascii'; import subprocess, sys\n"
    apart = (
        env_first
        + f"d = subprocess.run([sys.executable, '-c', {code!r}, 'check', 'greenhouse', '--on',"
        " '2026-11-25'], capture_output=True)\n"
        "sys.stdout.write(d.stdout.decode('ascii')); sys.exit(d.returncode)"
    )
    result = run_apart(code=apart)
    assert result.code == 0
    assert "boiling at the site: 96.6 ?C" in result.out




@pytest.fixture(scope="module")
def dead_pump(tmp_path_factory):
    """One night with a dead pump, run as a person would, with both files."""
    folder = tmp_path_factory.mktemp("night")
    args = ("rehearse", "greenhouse", "--night", "pump-dies", "--seed", "3", *ON)
    result = run_apart(*args, "--json", "a.json", "--page", "a.html", cwd=folder)
    return result, folder, args


def without_speed(text):
    return re.sub(r'"x_real_time": [^\n]*', "", text)


def test_a_dead_pump_is_a_finding_and_both_files_are_whole(dead_pump):
    result, folder, _ = dead_pump
    assert (result.code, result.err) == (1, "")
    assert "DO NOT LIGHT" in result.out
    assert "the coil boils after" in " ".join(result.out.split())
    assert "coilward rehearse greenhouse --night pump-dies --seed 3 --on 2026-11-25" in result.out
    found = json.loads((folder / "a.json").read_text(encoding="utf-8"))
    assert found["verdict"] == "do not light"
    assert found["first_boil_s"] > 0
    assert found["seed"] == 3
    assert found["alarms"]
    assert found["phases"][-1]["phase"] == "dry lock-out"
    page = (folder / "a.html").read_text(encoding="utf-8")
    assert page.endswith("</html>\n")
    assert found["answer"].replace("'", "&#x27;") in page
    assert sorted(each.name for each in folder.iterdir()) == ["a.html", "a.json"]


def test_the_same_seed_gives_the_same_bytes_but_for_the_speed(dead_pump):
    _, folder, args = dead_pump
    again = run_apart(*args, "--json", "-", "--page", "b.html", cwd=folder)
    assert (again.code, again.err) == (1, "")
    first = (folder / "a.json").read_text(encoding="utf-8")
    assert without_speed(again.out) == without_speed(first)
    assert first != without_speed(first)
    assert (folder / "b.html").read_bytes() == (folder / "a.html").read_bytes()
    (folder / "b.html").unlink()


def test_a_quiet_night_is_zero_and_narrow_and_has_no_alarm(cli):
    result = cli("rehearse", "greenhouse", *ON)
    assert (result.code, result.err) == (0, "")
    assert "MAY BE LIT" in result.out
    assert max(map(len, result.out.splitlines())) <= 80


def test_units_change_the_console_and_not_the_json(cli):
    si, us = (
        json.loads(cli("rehearse", "greenhouse", "--units", units, "--json", "-", *ON).out)
        for units in ("si", "us")
    )
    assert "K under boiling" in si["answer"]
    assert "F° under boiling" in us["answer"]
    for key in ("peaks", "margins", "final", "phases", "loop_id"):
        assert si[key] == us[key]


def test_a_fault_of_a_part_that_the_loop_lacks_is_refused(cli):
    done = cli("rehearse", "hot-tub", "--night", "fans-fail", *ON)
    assert done.code == 2
    assert "no radiator" in done.err
    assert done.out == ""


def test_a_shipped_loop_is_judged_on_the_day_on_which_it_was_written(cli, tmp_path):
    assert cli("check", "greenhouse").out == cli("check", "greenhouse", *ON).out
    own = tmp_path / "mine.toml"
    own.write_text(loop_text("greenhouse").replace("proven = 2026", "proven = 2019"))
    assert cli("check", str(own)).code == 1
