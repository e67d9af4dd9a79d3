"""The shipped loops with something taken away: every word turns, and says why.

What a change must turn to follows from physics and from the trade's own rules, not from the
code: no vent, no fire; a valve that can shut will; heat that is not carried boils; a pump
without a supply is a dead pump.
"""

from __future__ import annotations

import re

import pytest

from coilward.desk.classes import stands
from coilward.desk.findings import findings_on
from coilward.desk.page.proof import proof_page
from coilward.desk.proving import Asked, forbids, headline
from coilward.desk.sizes import hanging_on, needs
from coilward.loop.document import read_loop
from coilward.loop.shipped import loop_names, loop_text
from coilward.proving.campaign import prove
from tests.desk.cli import ON, run_here
from tests.desk.test_interlocks import TODAY, setting
from tests.desk.test_page import read

LINES = {
    "vent removed": ("open_vent = {", "# open_vent = {"),
    "battery gone": ("pump_battery = {", "# pump_battery = {"),
}


def without(name, *devices):
    passive = read_loop(name).passive.model_copy(update=dict.fromkeys(devices))
    return setting(name, passive=passive)


def can_shut(name):
    loop = read_loop(name)
    valve = loop.valve.model_copy(update={"stop": 0.0, "bypass_lpm": 0.0})
    passive = loop.passive.model_copy(update={"valve_stop": None})
    return setting(name, valve=valve, passive=passive)


def hotter(name, factor=1.6):
    fire = read_loop(name).fire
    more = {"nominal_kw": factor * fire.nominal_kw, "largest_kw": factor * fire.largest_kw}
    return setting(name, fire=fire.model_copy(update=more))


def keys(here):
    found = findings_on(here.loop, here.derived, TODAY, "si")
    return {finding.key: finding for finding in found.every}


def held(here):
    return {need.key: need.held for need in needs(here)}


@pytest.mark.parametrize("name", loop_names())
def test_as_shipped_only_what_holds_still_water_is_missing(name):
    here = setting(name)
    assert not any(finding.severity == "stop" for finding in keys(here).values())
    assert [key for key, fine in held(here).items() if not fine] == ["still-water"]


@pytest.mark.parametrize("name", loop_names())
def test_without_the_vent_no_fire(name):
    here = without(name, "open_vent")
    finding = keys(here)["open-vent"]
    assert finding.severity == "stop"
    assert "bursts" in finding.text
    need = next(each for each in needs(here) if each.key == "open-vent")
    assert not need.held
    assert "not fitted" in need.here
    assert "at least 20.0 mm bore" in need.what


@pytest.mark.parametrize("name", loop_names())
def test_a_vent_past_its_proof_is_no_vent(name):
    vent = read_loop(name).passive.open_vent
    old = vent.model_copy(update={"proven": vent.proven.replace(year=2024)})
    passive = read_loop(name).passive.model_copy(update={"open_vent": old})
    here = setting(name, passive=passive)
    assert keys(here)["open-vent"].severity == "stop"
    assert not held(here)["open-vent"]
    assert "does not hold" in next(n.here for n in needs(here) if n.key == "open-vent")


@pytest.mark.parametrize("name", loop_names())
def test_a_valve_that_can_shut_is_told_with_the_stop_that_it_wants(name):
    here = can_shut(name)
    assert {"valve-stop", "valve-can-shut"} & set(keys(here)), sorted(keys(here))
    need = next(each for each in needs(here) if each.key == "valve-stop")
    assert not need.held
    assert need.here == "the valve can shut"
    assert "a stop at" in need.what


@pytest.mark.parametrize("name", loop_names())
def test_a_fire_60_percent_larger_turns_to_do_not_light(name):
    here = hotter(name)
    stops = [finding for finding in keys(here).values() if finding.severity == "stop"]
    assert stops, "a vent and a loop sized for the largest fire cannot carry 1.6 times of it"
    told = held(here)
    assert not told["open-vent"], "it carries the steam of the smaller fire only"
    small, large = (
        next(need.what for need in needs(each) if need.key == "still-water")
        for each in (setting(name), here)
    )
    before, after = (float(re.search(r"about (\d+) W/K", each)[1]) for each in (small, large))
    assert after == pytest.approx(1.6 * before, rel=0.01)


@pytest.mark.parametrize("name", loop_names())
def test_without_the_pumps_battery_a_power_cut_is_a_dead_pump(name):
    here = without(name, "pump_battery")
    finding = keys(here)["pump-battery"]
    assert finding.severity == "attend"
    assert "loss of flow" in finding.text
    need = next(each for each in needs(here) if each.key == "supply")
    assert not need.held
    assert "pump battery not fitted" in need.here


def test_the_faults_that_hang_on_what_is_missing_are_named():
    """A dead pump hangs on what cools a still coil; a lost bus on the pump's own battery."""
    told = {need.key: hanging_on(need, setting()) for need in needs(setting())}
    assert {"pump-dies", "pump-stalls"} <= set(told["still-water"])
    assert "fans-fail" not in told["still-water"], "this loop's dump takes it"
    assert told["supply"] == []
    here = without("greenhouse", "pump_battery")
    told = {need.key: hanging_on(need, here) for need in needs(here)}
    assert told["supply"] == ["bus-lost"]


def test_a_quench_coil_for_the_whole_fire_turns_the_other_way():
    loop = read_loop("greenhouse")
    quench = loop.passive.open_vent.model_copy(update={"carries_kw": 18.0})
    passive = loop.passive.model_copy(update={"quench_coil": quench})
    assert held(setting(passive=passive))["still-water"]
    weak = quench.model_copy(update={"carries_kw": 17.9})
    passive = loop.passive.model_copy(update={"quench_coil": weak})
    assert not held(setting(passive=passive))["still-water"]


TRIED = ("pump-dies", "valve-jams", "bus-lost", "fans-fail")
STEAMS = "lets the steam out"


def proven(here, folder):
    """A campaign too small to prove anything: what is looked at is the class of each row."""
    proof = prove(here.loop, faults=TRIED, runs=2, today=TODAY, store=folder)
    return proof, {row.fault: row for row in proof.rows}


def told_on_the_page(proof, here):
    words = " ".join(read(proof_page(proof, here, Asked("mine", TODAY, None, None))).words)
    return " ".join(words.replace("\N{NO-BREAK SPACE}", " ").split())


def test_a_proof_of_the_loop_as_shipped_passes_what_logic_can_hold(tmp_path):
    proof, rows = proven(setting(), tmp_path)
    assert stands(proof)
    assert rows["fans-fail"].status == rows["valve-jams"].status == "passed"
    assert rows["pump-dies"].status == STEAMS
    assert rows["bus-lost"].status == "held by hardware"


def test_a_proof_without_the_vent_says_do_not_light(tmp_path):
    here = without("greenhouse", "open_vent")
    proof, rows = proven(here, tmp_path)
    assert rows["pump-dies"].status == "not survivable"
    assert rows["pump-dies"].cls == "nothing helps"
    assert headline(proof, forbids(here, TODAY)) == "Do not light"
    told = told_on_the_page(proof, here)
    assert "Do not light" in told
    assert "The open vent is not fitted, and does not count." in told


def test_a_proof_of_a_valve_that_can_shut_counts_a_jammed_one_no_more(tmp_path):
    here = can_shut("greenhouse")
    proof, rows = proven(here, tmp_path)
    assert rows["valve-jams"].status == STEAMS
    assert "valve-jams" in told_on_the_page(proof, here).split("Logic plus hardware that only")[1]


def test_a_proof_with_a_fire_60_percent_larger_says_do_not_light(tmp_path):
    here = hotter("greenhouse")
    proof, rows = proven(here, tmp_path)
    assert rows["pump-dies"].cls == "nothing helps"
    against = forbids(here, TODAY)
    assert headline(proof, against) == "Do not light"
    assert any("not all of it" in text for text in against), "the vent is too small for it"


def test_a_proof_without_the_pumps_battery_holds_a_power_cut_no_more(tmp_path):
    here = without("greenhouse", "pump_battery")
    proof, rows = proven(here, tmp_path)
    assert rows["bus-lost"].status == STEAMS
    assert rows["bus-lost"].cls == "logic plus hardware that only lets the steam out"
    told = told_on_the_page(proof, here)
    assert "pump battery not fitted" in told
    words = "Attended only: The battery behind the pump is not fitted, and does not count."
    assert words in told
    assert words not in told_on_the_page(proof, setting())


@pytest.mark.parametrize(
    ("change", "code", "words"),
    [
        ("vent removed", 1, "The open vent is not fitted"),
        ("battery gone", 0, "Without it every failure of the supply is a loss of flow"),
    ],
)
def test_the_command_says_so(monkeypatch, capsys, tmp_path, change, code, words):
    old, new = LINES[change]
    file = tmp_path / "mine.toml"
    file.write_text(loop_text("greenhouse").replace(old, new), "utf-8")
    result = run_here(monkeypatch, capsys, "check", str(file), *ON)
    assert result.code == code
    assert words in " ".join(result.out.split())
