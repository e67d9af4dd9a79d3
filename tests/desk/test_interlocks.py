"""`coilward interlocks`: both tables with a loop's own numbers, the picture, the form."""

from __future__ import annotations

import json
import re
from datetime import date
from xml.etree import ElementTree

import pytest

from coilward.controller import interlocks as table
from coilward.controller import phases
from coilward.controller.constants import constants_for
from coilward.controller.debounce import QUIET, count, reached
from coilward.controller.interlocks import ROWS
from coilward.controller.phases import FACTS, PHASES, TABLE
from coilward.desk.moving import FACTS as FACT_WORDS
from coilward.desk.moving import changes
from coilward.desk.page.card import NEVERS, card_page
from coilward.desk.page.effects import interlocks_page
from coilward.desk.page.form import form_page
from coilward.desk.page.ladder import ladder
from coilward.desk.provoking import PROCEDURES, procedure
from coilward.desk.tripping import LEADS_TO, NUMBERS, Setting, absent, limit_s, trip, waits_s
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.model import Passive
from coilward.loop.shipped import loop_names
from tests.desk.cli import ON, run_here
from tests.desk.test_page import read

TODAY = date(2026, 11, 25)
SVG = "{http://www.w3.org/2000/svg}"


def setting(name="greenhouse", system="si", **changed):
    loop = read_loop(name).model_copy(update=changed)
    derived = derive(loop, TODAY)
    return Setting(loop, derived, constants_for(loop, derived), system)


@pytest.fixture
def cli(monkeypatch, capsys):
    return lambda *args: run_here(monkeypatch, capsys, *args)


def test_every_row_has_a_procedure():
    assert {row.name for row in ROWS} <= set(PROCEDURES)


def test_a_row_without_a_procedure_says_so():
    told = procedure("C99")
    assert told.how.startswith("No procedure written")
    assert told.never_with_fire


def test_nothing_that_takes_the_water_away_is_provoked_with_a_fire():
    for row in ROWS:
        if row.pump == "off" or row.next in ("dry", "no-flow") or row.tier in ("dry", "water"):
            assert procedure(row.name).never_with_fire, row.name


def test_numbers_name_rows_that_exist():
    assert set(NUMBERS) <= {row.name for row in ROWS}


def test_every_fact_of_the_phase_table_is_told():
    silent = {name for name in FACTS if not name.startswith("was_")} - set(FACT_WORDS)
    assert silent == set()
    assert set(FACT_WORDS) <= set(FACTS)


@pytest.mark.parametrize("name", loop_names())
def test_the_wait_is_what_the_logic_counts(name):
    """Each cause alone, tick by tick, until the logic's own counters let the row count."""
    here = setting(name)
    for index, row in enumerate(ROWS):
        cause, counters, ticks = 1 << index, QUIET, 0
        while not reached(cause, counters, here.constants.thresholds) & cause:
            counters = count(cause, counters)
            ticks += 1
            assert ticks < 10_000
        assert waits_s(row, here) == pytest.approx(ticks * here.loop.tick_s), row.name


def test_the_trips_are_those_that_the_logic_compares_with():
    here = setting()
    limits = here.constants.limits
    for name, number_c in (
        ("C03", limits.outlet_dump_c), ("C04", limits.outlet_hh_c), ("C05", limits.tank_trip_c),
        ("C06", limits.tank_hh_c), ("C09", limits.metal_high_c),
    ):  # fmt: skip
        said = trip(ROWS[table.INDEX[name]], here)
        assert f"{number_c:.1f} °C" in said, said
        assert f"{1.8 * number_c + 32:.1f} °F" in trip(
            ROWS[table.INDEX[name]], setting(system="us")
        )


def test_limits_follow_the_loop():
    """From the table's own words: min(3 s, a quarter of the time to boil), and the window."""
    here = setting()
    quarter_s = here.derived.boil_s.largest.peaked_est / 4
    assert limit_s(ROWS[table.INDEX["C01"]], here) == min(3.0, quarter_s)
    assert limit_s(ROWS[table.INDEX["C11"]], here) == pytest.approx(2 * quarter_s)
    assert limit_s(ROWS[table.INDEX["C04"]], here) == 2.0


def test_a_row_whose_channel_is_not_fitted_is_told_as_not_at_work():
    here = setting()
    bare = here.loop.sensors.model_copy(update={"coil_metal": None, "fan_current": False})
    without = setting(sensors=bare)
    for name, lacks in (("C10", "coil metal"), ("C09", "coil metal"), ("C21", "fan current")):
        row = ROWS[table.INDEX[name]]
        assert absent(row, here) == ""
        assert absent(row, without) == lacks
    assert "not at work here: no coil metal is measured" in interlocks_page(without)
    assert "Not at work in this loop: no coil metal is measured" in form_page(without)


def test_the_picture_holds_every_arrow_of_the_table_and_its_reason():
    root = ElementTree.fromstring(ladder(setting()))
    words = [each.text for each in root.iter(f"{SVG}text")]
    for number, step in enumerate(TABLE, start=1):
        assert f"{number}  {step.why}" in words
    heads = sum(
        len({source > step.target for source in step.sources if source != step.target})
        for step in TABLE
    )
    drawn = [each for each in root.iter(f"{SVG}path") if each.get("d", "").endswith("z")]
    assert len(drawn) == heads
    dots = len(list(root.iter(f"{SVG}circle")))
    assert dots == sum(len(set(step.sources) - {step.target}) for step in TABLE)


def test_a_row_added_at_run_time_is_in_every_output(monkeypatch):
    row = ROWS[0]._replace(name="C99", cause="a goat in the tank")
    step = TABLE[0]._replace(why="the goat got out")
    monkeypatch.setattr(table, "ROWS", (*ROWS, row))
    monkeypatch.setattr(phases, "TABLE", (*TABLE, step))
    here = setting()
    page, form = interlocks_page(here), form_page(here)
    assert "a goat in the tank" in page
    assert "the goat got out" in page
    assert "No procedure written" in form
    assert changes(here)[-1].why == "the goat got out"
    assert "the goat got out" in ladder(here)


@pytest.mark.parametrize("name", loop_names())
def test_the_pages_are_whole_and_stand_alone(name):
    for text in (interlocks_page(setting(name)), form_page(setting(name))):
        reader = read(text)
        assert reader.references == []
        words = " ".join(reader.words)
        for row in ROWS:
            assert row.name in words
        assert "not a certified protective device" in words
        assert "nan" not in words.lower().split()


def test_the_form_has_room_to_measure_and_to_sign():
    text = form_page(setting())
    for head in ("how to provoke it, cold", "measured, s", "signature", "date", "limit"):
        assert f"<th>{head}</th>" in text
    assert text.count("NEVER WITH A FIRE IN") >= 15


@pytest.mark.parametrize("name", loop_names())
def test_the_card_tells_of_every_row_that_is_more_than_a_beep(name):
    here = setting(name)
    reader = read(card_page(here))
    words = " ".join(" ".join(reader.words).split())
    for row in ROWS:
        at_work = row.horn > 1 and not absent(row, here)
        assert (row.happened in words) >= at_work, row.name
        assert (row.person in words) >= at_work, row.name
    assert all(each in words for each in NEVERS)
    assert reader.references == []
    assert "not a certified protective device" in words


def test_the_card_names_only_hardware_that_counts():
    whole = card_page(setting())
    bare = card_page(setting(passive=Passive()))
    assert "What works without power here: open vent" in whole
    assert "open vent" not in bare
    assert "Nothing protects this coil without power" in bare


def test_the_command_prints_every_row_with_its_number(cli):
    result = cli("interlocks", "greenhouse", *ON)
    assert result.code == 0
    for row in ROWS:
        assert re.search(rf"^  {row.name}  ", result.out, re.M), row.name
    assert "outlet at its dump trip: 77.6 °C" in result.out
    for phase in PHASES:
        assert phase in result.out


def test_the_command_writes_what_is_asked_for(cli, tmp_path):
    names = {each: str(tmp_path / each) for each in ("page", "form", "card", "picture", "json")}
    args = [part for each, name in names.items() for part in (f"--{each}", name)]
    assert cli("interlocks", "hot-tub", *args).code == 0
    told = json.loads((tmp_path / "json").read_text("utf-8"))
    assert [each["name"] for each in told["interlocks"]] == [row.name for row in ROWS]
    assert {each["next"] for each in told["interlocks"]} <= set(LEADS_TO)
    assert len(told["phases"]) == len(TABLE)
    assert ElementTree.parse(tmp_path / "picture").getroot().tag == f"{SVG}svg"
    assert (tmp_path / "page").read_text("utf-8").startswith("<!DOCTYPE html>")
    assert (tmp_path / "form").read_text("utf-8").startswith("<!DOCTYPE html>")
    assert "at the burner" in (tmp_path / "card").read_text("utf-8")


def test_two_outputs_in_one_file_are_refused(cli, tmp_path):
    name = str(tmp_path / "one.html")
    result = cli("interlocks", "greenhouse", "--page", name, "--form", name)
    assert result.code == 2
    assert not (tmp_path / "one.html").exists()
