"""`coilward journal`, `coilward replay`, `coilward rehearse --journal`: what is said, written, refused."""  # noqa: E501

from __future__ import annotations

import csv
import json
import math
import re

import numpy as np
import pytest

from coilward.controller.constants import constants_for
from coilward.desk.replay_told import earlier
from coilward.hil.journal.reader import Reader
from coilward.hil.replay.imported import decided, lacking, ticks_of
from coilward.hil.replay.sides import Pair, pairs
from coilward.learning.log import log_of_rows
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.shipped import loop_text
from tests.desk.cli import ON, run_here
from tests.hil.made import DAY, constants, night
from tests.hil.test_replay import journal as write_journal

NIGHT = """
coilward = 1
name = "short"
duration = "6 min"
start = "running"
[[moment]]
at = "3 min"
do = "fault"
fault = "pump-dies"
"""


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    made = night()
    return write_journal(tmp_path_factory.mktemp("journal") / "j", made.ticks, dict(made.origins))


@pytest.fixture
def cli(monkeypatch, capsys):
    return lambda *args: run_here(monkeypatch, capsys, *map(str, args))


def test_a_rehearsed_night_is_kept_and_replays_the_same(cli, tmp_path):
    (tmp_path / "night.toml").write_text(NIGHT, encoding="utf-8")
    path = tmp_path / "j"
    told = cli("rehearse", "greenhouse", "--night", tmp_path / "night.toml", "--journal", path)
    assert told.code == 1
    assert "your own" not in told.out
    plain = cli("rehearse", "greenhouse", "--night", tmp_path / "night.toml")
    assert told.out.splitlines()[:12] == plain.out.splitlines()[:12]
    cli("rehearse", "greenhouse", "--night", tmp_path / "night.toml", "--journal", path, "--seed",
        "2")  # fmt: skip
    with Reader(path) as reader:
        assert [(each.seed, each.about) for each in reader.sessions()] == [(1, "short"),
                                                                           (2, "short")]
    for session in ("1", "2"):
        again = cli("replay", path, "--session", session, "--json", "-")
        assert again.code == 0, again.err
        found = json.loads(again.out)
        assert found["identical"]
        assert found["ticks"] == 1440
        assert found["rows"][0]["name"] == "C02"


def test_list_check_and_note(cli, written):
    assert cli("journal", "note", written, " two logs ").code == 0
    listed = cli("journal", "list", written)
    assert "a short night: 6 min" in listed.out
    assert "0:03:00   trip: C02, no-flow fault" in listed.out
    assert "two logs" in listed.out
    checked = cli("journal", "check", written)
    assert (checked.code, checked.out.strip()) == (0, "1,440 ticks are there and whole.")
    as_json = json.loads(cli("journal", "list", written, "--json", "-").out)
    assert as_json["sessions"][0]["last_tick"] == 1439
    assert as_json["notes"][0]["words"] == "two logs"


def test_a_damaged_journal_is_a_finding(cli, written, tmp_path):
    whole = written.read_bytes()
    (tmp_path / "k").write_bytes(whole)
    import sqlite3

    database = sqlite3.connect(tmp_path / "k")
    database.execute("DELETE FROM chunk WHERE id = 2")
    database.commit()
    database.close()
    checked = cli("journal", "check", tmp_path / "k")
    assert checked.code == 1
    assert "240 ticks are missing after tick 239" in checked.out
    replayed = cli("replay", tmp_path / "k")
    assert "taken as it was written" in replayed.out.replace("\n  ", " ")


def test_export_there_and_back(cli, written, tmp_path):
    exported = cli("journal", "export", written, "--csv", tmp_path / "o.csv", "--from", "2.9 min",
                   "--to", "3.1 min")  # fmt: skip
    assert exported.code == 0
    with (tmp_path / "o.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [int(row["number"]) for row in rows] == list(range(696, 745))
    for row, tick in zip(rows, night().ticks[696:745], strict=True):
        assert float(row["tank_c"]) == tick.readings.tank_c
        lost = math.isnan(tick.readings.co_ppm)
        assert (row["co_ppm"] == "") == lost
        assert int(row["mode_phase"]) == tick.state.mode.phase
        assert float(row["valve"]) == tick.commands.valve


def test_another_loop_trips_earlier_by_seconds(cli, written, tmp_path):
    text = loop_text("greenhouse")
    first_c = night().ticks[0].readings.coil_outlet_a_c
    other = tmp_path / "other.toml"
    line = f'[limits]\noutlet_dump = "{first_c - 1.0:.1f} degC"\n'
    typed = "".join(each for each in text.splitlines(True) if not each.startswith("set_point"))
    other.write_text(typed.replace("[limits]\n", line), encoding="utf-8")
    told = cli("replay", written, "--loop", other, "--page", tmp_path / "p.html", *ON)
    assert told.code == 0, told.err
    assert f"The constants are those of {other}".replace(" ", "") in "".join(told.out.split())
    assert "C03" in told.out
    assert "only now" in told.out
    said = told.out.replace("\n  ", " ")
    assert "to 0:05:59, the end of the log: the new logic" in said
    assert "How well this plant follows the log before that is not known" in said
    assert re.search(r"likewise under the logged commands: \d\.\d K off at\s+the outlet", said)
    assert "THIS PLANT DOES NOT FOLLOW THE LOG" not in said
    assert "A simulated estimate, no more" in said
    assert "least margin" not in said
    assert "only now" in (tmp_path / "p.html").read_text("utf-8")


def test_the_rest_is_told_with_its_error_and_drawn_with_its_name(cli, written, tmp_path):
    other = tmp_path / "other.toml"
    text = loop_text("greenhouse").replace('set_point = "60 degC"', 'set_point = "54 degC"')
    other.write_text(text, encoding="utf-8")
    asked = ("replay", written, "--loop", other, "--from", "2.5 min", *ON)
    said = " ".join(cli(*asked, "--page", tmp_path / "p.html").out.split())
    assert "Simulated from 0:02:3" in said
    error = re.search(r"for (.+?) before that, this plant is (\S+) K off at the outlet", said)
    assert error is not None
    assert float(error[2]) < 1.0
    assert "In the simulated rest the coil boils at 0:04:" in said
    assert "After a first boil nothing is a margin" in said
    assert "0:03:00 the pump is dead" in said
    assert "0:03:00 simulated same: pump current outside its window" in said
    page = (tmp_path / "p.html").read_text("utf-8")
    for words in ("outlet simulated", "coil water simulated", "simulated from here"):
        assert words in page
    assert page.count("stroke-dasharray=\"5 3\"") == 6  # Three lines, and their legends.
    found = json.loads(cli(*asked, "--json", "-").out)
    rest = found["rest"]
    assert 150.0 <= found["simulated_from_s"] <= 165.0
    assert rest["outcome"]["boil_margin_k"] is None
    assert 200.0 < rest["outcome"]["boiled_s"] < 300.0
    assert rest["misfit_before"]["outlet_k"] < 1.0
    assert [row["simulated"] for row in found["rows"]] == [True] * len(found["rows"])
    assert rest["curves"]["coil_water_c"][-1] is None


def test_the_same_everything_simulates_nothing(cli, written):
    found = json.loads(cli("replay", written, "--json", "-").out)
    assert found["simulated_from_s"] is None
    assert found["rest"] is None


@pytest.mark.parametrize(
    ("logged_s", "now_s", "words"),
    [(100.0, 61.75, "38.25 s earlier"), (100.0, 100.25, "0.25 s later"), (5.0, 5.0, "same"),
     (None, 5.0, "only now"), (5.0, None, "not any more"), (4000.0, 0.0, "1 h 06 min earlier")],
)  # fmt: skip
def test_how_much_earlier(logged_s, now_s, words):
    assert earlier(Pair("C03", logged_s, now_s)) == words


def test_the_nth_time_is_held_against_the_nth():
    from coilward.controller.interlocks import INDEX
    from coilward.hil.replay.changes import Change

    def side(*times_s):
        found = []
        for at_s in times_s:
            found += [Change(0, at_s, 4, 1 << INDEX["C03"], 0, -1),
                      Change(0, at_s + 1.0, 4, 0, 0, -1)]  # fmt: skip
        return found

    assert pairs(side(10.0, 20.0), side(8.0)) == [("C03", 10.0, 8.0), ("C03", 20.0, None)]
    assert pairs(side(10.0), side(8.0))[0].earlier_s == 2.0


def test_a_tick_that_differs_without_a_change_is_a_finding(cli, tmp_path):
    made = night()
    ticks = list(made.ticks[:480])
    ticks[100] = ticks[100]._replace(
        readings=ticks[100].readings._replace(coil_outlet_a_c=50.0)
    )
    path = write_journal(tmp_path / "j", ticks, dict(made.origins))
    told = cli("replay", path)
    assert told.code == 1
    assert "Tick 100 at 0:00:25 is the first that differs" in told.out


# ---- a plain log --------------------------------------------------------------------------------


def log(minutes=30.0, **columns):
    """A row a second of a loop that stays at these values, but for a thermometer's own noise."""
    time_s = np.arange(60.0 * minutes)
    steady = {"coil_outlet": 60.0, "tank": 40.0, "flow": 9.0, "radiator_outlet": 38.0}
    noise = 0.1 * np.round(np.random.default_rng(1).normal(size=len(time_s)))
    rows = {name: value + noise for name, value in steady.items()}
    rows.update({name: np.asarray(value) for name, value in columns.items()})
    return log_of_rows("made", time_s, rows)


def test_a_plain_log_is_decided_as_far_as_it_goes():
    calm = log()
    assert lacking(calm) == []
    found = decided(calm, constants(), "interpreted")
    assert found.ticks == 4 * 1799 + 1
    assert "current" in found.unfitted
    assert "radiator_outlet" not in found.unfitted
    assert {change.phase for change in found.changes} == {4}
    flow = calm.columns["flow"].copy()
    flow[900:] = 0.0
    stopped = decided(log(flow=flow), constants(), "interpreted")
    from coilward.hil.replay.changes import begun

    flowless = [row.time_s for row in begun(stopped.changes) if row.name == "C01"]
    assert 900.0 < flowless[0] < 910.0
    assert "C01" not in [row.name for row in begun(found.changes)]


def test_ticks_hold_a_value_until_the_next_row_and_lose_it_in_a_gap():
    time_s = np.concatenate((np.arange(0.0, 60.0), np.arange(120.0, 180.0)))
    columns = {"coil_outlet": time_s, "tank": time_s, "flow": np.where(time_s < 150.0, 9.0, 0.0)}
    inputs = ticks_of(log_of_rows("made", time_s, columns), constants())
    tank_c = inputs[4 + 3].view(np.float64)
    assert tank_c[:5].tolist() == [0.0, 0.0, 0.0, 0.0, 1.0]
    assert math.isnan(tank_c[4 * 90])
    assert tank_c[4 * 120] == 120.0
    pulse_age_s = inputs[4 + 11].view(np.float64)
    assert pulse_age_s[4 * 10] == 0.0
    assert pulse_age_s[4 * 160] == pytest.approx(10.25)


def test_a_rehearsed_csv_is_replayed(cli, tmp_path):
    (tmp_path / "night.toml").write_text(NIGHT, encoding="utf-8")
    cli("rehearse", "greenhouse", "--night", tmp_path / "night.toml", "--csv", tmp_path / "n.csv")
    told = cli("replay", tmp_path / "n.csv", "--loop", "greenhouse", "--json", "-")
    assert told.code == 0, told.err
    names = [cause["name"] for cause in json.loads(told.out)["now"]["causes"]]
    assert "C01" in names
    said = cli("replay", tmp_path / "n.csv", "--loop", "greenhouse", "--page", tmp_path / "p.html")
    assert "protects nothing here" in said.out.replace("\n  ", " ")
    assert "C01" in (tmp_path / "p.html").read_text("utf-8")


# ---- what is refused ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("replay", "nosuch"), "there is no such file"),
        (("replay", "."), "this is a directory"),
        (("replay", "empty.csv", "--loop", "greenhouse"), "the file is empty"),
        (("replay", "j", "--from", "2 min", "--to", "1 min"), "this is after --to"),
        (("replay", "j", "--from", "5"), "the number has no unit"),
        (("replay", "j", "--from", "-5 s"), "this is before the beginning"),
        (("replay", "j", "--from", "2 h"), "there are no such ticks"),
        (("replay", "j", "--session", "7"), "there is no such session"),
        (("replay", "j", "--columns", "map.toml"), "a journal has its own names"),
        (("replay", "j", "--json", "j"), "the file that is read"),
        (("replay", "n.csv", "--loop", "greenhouse", "--speed", "2"), "are for a journal"),
        (("replay", "n.csv"), "says nothing of its loop"),
        (("replay", "cut"), "damaged"),
        (("journal", "list", "n.csv"), "this is no journal"),
        (("journal", "list", "nosuch"), "there is no such file"),
        (("journal", "check", "empty.csv"), "the file is empty"),
        (("journal", "export", "j", "--csv", "j"), "the file that is read"),
        (("journal", "export", "j", "--csv", "-", "--columns", "tank_d"), "tank_c"),
        (("journal", "export", "j", "--csv", "-", "--columns", ","), "no column is named"),
        (("journal", "export", "j", "--csv", "-", "--from", "1 h"), "no ticks in this range"),
        (("journal", "note", "j", "  "), "this note is empty"),
        (("journal", "note", "n.csv", "words"), "this is no journal"),
        (("rehearse", "greenhouse", "--journal", "n.csv"), "this is no journal"),
        (("rehearse", "greenhouse", "--journal", "-"), "never the console"),
        (("rehearse", "greenhouse", "--journal", "a/b"), "there is no such folder"),
        (("rehearse", "greenhouse", "--journal", "k", "--case", "pump-stalls/17@1"), "--case"),
        (("rehearse", "greenhouse", "--journal", "k", "--logic", "mine:decide"), "--logic"),
    ],
)  # fmt: skip
def test_what_is_refused(cli, written, tmp_path, monkeypatch, args, words):
    monkeypatch.chdir(tmp_path)
    whole = written.read_bytes()
    (tmp_path / "j").write_bytes(whole)
    (tmp_path / "cut").write_bytes(whole[: len(whole) // 2])
    (tmp_path / "empty.csv").write_bytes(b"")
    rows = "".join(f"{k},60,40,9\n" for k in range(100))
    (tmp_path / "n.csv").write_text(f"time s,coil outlet degC,tank degC,flow L/min\n{rows}")
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    told = cli(*args)
    assert told.code == 2
    assert words in told.err
    assert told.out == ""
    after = {path: path.read_bytes() for path in tmp_path.iterdir()}
    beside = {path for path in after if path.name.endswith(("-wal", "-shm"))}
    assert {path: text for path, text in after.items() if path not in beside} == before


def test_constants_of_the_made_journal_are_those_of_its_day():
    loop = read_loop("greenhouse")
    assert constants_for(loop, derive(loop, DAY)) == constants()
