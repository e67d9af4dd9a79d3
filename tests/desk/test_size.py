"""`coilward size`: the answer, the page, the JSON, the other loop beside it, and bad input."""

from __future__ import annotations

import json
import re

import pytest

from coilward.loop.document import loop_id, read_loop
from coilward.loop.shipped import loop_names, loop_text
from tests.desk.cli import ON, run_here
from tests.desk.test_page import read


@pytest.fixture
def cli(monkeypatch, capsys):
    return lambda *args: run_here(monkeypatch, capsys, *args)


def changed_file(folder, name="greenhouse", **changes):
    """A shipped file with keys typed otherwise, by their first line."""
    text = loop_text(name)
    for key, value in changes.items():
        text, count = re.subn(rf'(?m)^{key} = "[^"]*"', f'{key} = "{value}"', text, count=1)
        assert count == 1, key
    path = folder / "mine.toml"
    path.write_text(text, "utf-8")
    return str(path)


@pytest.fixture
def hungry(tmp_path):
    """A greenhouse with a far larger fire; its vent is too small for that, too."""
    return changed_file(tmp_path, largest="30 kW")


def squeezed(text):
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize("name", loop_names())
def test_a_shipped_loop(cli, name, tmp_path):
    done = cli("size", name, "--page", str(tmp_path / "a.html"), "--json", str(tmp_path / "a.json"))
    assert done.code == 0
    for words in (
        "Flow", "Limits and trips", "Largest fire, radiator dead", "Frost", "Water", "Supply",
        "Wood", "What moves the margins most", "What to change next", "Take care",
        "Nothing here forbids a fire",
    ):  # fmt: skip
        assert words in done.out
    page = (tmp_path / "a.html").read_text("utf-8")
    reader = read(page)
    assert reader.references == []
    told = squeezed(" ".join(reader.words))
    for words in ("outlet ends at", "BOILS", "finned pipe", "suction head", "free space",
                  "wood for a night of 8 h", "battery for 4 h", "quench", "steam", "Take care."):
        assert words in told
    assert page.count("<svg") == 4
    # Outlet and tank with the fans off, and with the dump open besides; a tub has neither.
    assert page.count("BOILS &#9650;") == (0 if name == "hot-tub" else 4)


def test_the_answer_comes_first_and_says_the_margins(cli):
    done = cli("size", "greenhouse", *ON)
    told = squeezed(done.out)
    assert "outlet is 64.8 °C, 16.9 K under the allowed." in told
    assert "coil boils after 35.8 s" in told
    assert "No home builder hangs 50.2 m of finned pipe" in told
    assert "typed 750 W/K, by surfaces and air changes 740 W/K" in told
    assert "BOILS after 45 min although water flows" in told
    assert "as finned pipe: 50.2 m (8 W/K for each m in still air)" in told
    assert "or the tank alone, for: 33 min" in told
    assert "heat of the fire ± 20 %: less 28.2 K, more 5.5 K" in told
    assert "air round the radiator ± 5.0 K: less 21.9 K, more 11.9 K" in told
    assert "85.6 s (87.8 s with the wall's film)" in told


def test_us_units(cli):
    told = squeezed(cli("size", "greenhouse", "--units", "us", *ON).out)
    assert "outlet is 148.6 °F, 30.3 F° under the allowed" in told
    assert "14 AWG" in told
    assert not re.search(r"\d (°C|K|kW|L/min|m|kg|W/K|MJ/kg)\b(?!/)", told.split("Take care")[0])


def test_a_loop_with_findings_ends_with_one(cli, hungry):
    done = cli("size", hungry, *ON)
    assert done.code == 1
    told = squeezed(done.out)
    assert "the coil boils, although water flows" in told
    assert "Do not light: 4 findings against it." in told
    assert "Enough alone to turn the verdict: less fire (x 0.6)." in told
    assert "not enough: open-vent-small" in told
    checked = squeezed(cli("check", hungry, *ON).out)
    assert "Do not light: 4 findings against it." in checked


def test_a_finding_that_no_size_mends_is_said_so(cli, tmp_path):
    path = changed_file(tmp_path, vent_bore="10 mm")
    done = cli("size", path, *ON)
    assert done.code == 1
    assert "NONE of these changes is enough alone" in squeezed(done.out)


def test_a_tank_past_its_pump_is_said_so(cli, tmp_path):
    """A pump rated 65 degC (150 degF): a tank over that is past it (common practice, no source)."""
    page = tmp_path / "a.html"
    path = changed_file(tmp_path, rated="95 degC", largest="30 kW")
    text = loop_text("greenhouse").replace('largest = "18 kW"', 'largest = "30 kW"')
    text = text.replace('rated = "95 degC"               # hottest', 'rated = "65 degC" # hottest')
    (tmp_path / "mine.toml").write_text(text, "utf-8")
    done = cli("size", path, "--page", str(page), "--units", "us", *ON)
    said = "PAST THE PUMP: at the largest fire the tank would settle at 151.3 °F, and the pump is"
    assert said in squeezed(done.out)
    assert said in squeezed(page.read_text("utf-8"))
    assert "PAST THE PUMP" not in cli("size", "greenhouse", *ON).out


def test_a_room_that_stays_cold_or_disagrees_is_said_so(cli, tmp_path):
    told = squeezed(cli("size", changed_file(tmp_path, heat_loss="1000 W/K"), *ON).out)
    assert "The nominal fire is 4.00 kW short" in told
    assert "loss DISAGREES by 35 %" in told


def test_the_surfaces_alone_tell_the_loss(cli, tmp_path):
    text = re.sub(r"(?m)^heat_loss = .*\n", "", loop_text("greenhouse"))
    path = tmp_path / "mine.toml"
    path.write_text(text, "utf-8")
    told = squeezed(cli("size", str(path), *ON).out)
    assert "room loses: 740 W/K" in told
    assert "loss agrees" not in told
    path.write_text(re.sub(r"(?s)\[room.envelope\].*?air_changes[^\n]*\n", "", text), "utf-8")
    done = cli("size", str(path), *ON)
    assert done.code == 2
    assert "nothing tells what the room loses" in done.err
    assert "[room.envelope]" in done.err


# Against another loop -----------------------------------------------------------------------------


def test_worse_is_a_word_and_red(cli, hungry, tmp_path):
    page = tmp_path / "a.html"
    done = cli("size", hungry, "--against", "greenhouse", "--page", str(page), *ON)
    assert done.code == 1
    told = squeezed(done.out)
    assert "The verdict is WORSE: 4 findings forbid a fire, none before." in told
    assert "WORSE: largest fire held: outlet: 64.8 °C -> boils" in told
    assert "WORSE: tank trip: 59.8 °C -> 45.3 °C" in told
    text = page.read_text("utf-8")
    read(text)
    assert '<span class="worse">WORSE &#9660;</span>' in text
    assert ".worse { color: #a3210f" in text
    assert "64.8\N{NO-BREAK SPACE}°C" in text


def test_better_the_other_way(cli, hungry):
    done = cli("size", "greenhouse", "--against", hungry, *ON)
    assert done.code == 0
    told = squeezed(done.out)
    assert "The verdict is better: nothing forbids a fire, 4 findings did before." in told
    assert "better: tank trip: 45.3 °C -> 59.8 °C" in told
    assert "WORSE: tank" not in told


def test_against_itself(cli, tmp_path):
    page, data = tmp_path / "a.html", tmp_path / "a.json"
    done = cli("size", "boathouse", "--against", "boathouse", "--page", str(page), "--json",
               str(data), *ON)  # fmt: skip
    assert done.code == 0
    assert "The verdict is the same: neither loop is forbidden a fire." in squeezed(done.out)
    assert "No number changes." in done.out
    assert "No number changes." in page.read_text("utf-8")
    assert {each["word"] for each in json.loads(data.read_text("utf-8"))["compared"]} == {"same"}


# JSON ---------------------------------------------------------------------------------------------


def test_json_is_whole_and_in_si_whatever_is_shown(cli, hungry):
    si = cli("size", hungry, "--json", "-", *ON)
    us = cli("size", hungry, "--json", "-", "--units", "us", "--against", "greenhouse", *ON)
    assert (si.code, us.code) == (1, 1)
    one, other = json.loads(si.out), json.loads(us.out)
    assert one["loop_id"] == loop_id(read_loop(hungry))
    assert one["stops"] == 4
    numbers = [(row["key"], row["value"], row["unit"]) for row in one["rows"]]
    assert numbers == [(row["key"], row["value"], row["unit"]) for row in other["rows"]]
    for key in ("margins", "states", "effects", "remedies", "maps"):
        assert one[key] == other[key], key
    assert len(one["maps"]["heat_flow"]["allowed_w"]) == len(one["maps"]["heat_flow"]["flow_lpm"])
    assert {row["key"] for row in one["rows"]} >= {
        "wanted_w", "nominal_outlet_c", "fans_off_boils_min", "largest_still_film_s",
        "flow_min_largest_lpm", "dump_pipe_m", "quench_lpm", "steam_kg_h", "sink_min",
        "freeze_cold_min", "pump_rest_min", "suction_m", "expansion_l", "battery_4_h_ah",
        "wood_kg_h", "wood_night_kg", "tank_trip_c",
    }  # fmt: skip
    never = next(row for row in one["rows"] if row["key"] == "nominal_boils_min")
    assert (never["value"], never["never"], never["words"]) == (None, True, "never")
    assert other["against"]["stops"] == 0
    assert any(each["word"] == "WORSE" for each in other["compared"])


# Bad input ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("arguments", "said"), [
    (("nowhere.toml",), "there is no such file"),
    (("greenhouse", "--against", "nowhere.toml"), "there is no such file"),
    (("greenhouse", "--page", "no-such-folder/a.html"), "there is no such folder"),
    (("greenhouse", "--page", "a.out", "--json", "a.out"), "the file of"),
    (("mine.toml", "--page", "mine.toml"), "the file that is read"),
    (("greenhouse", "--against", "mine.toml", "--json", "mine.toml"), "the file that is read"),
    (("mine.toml",), "too high to be plausible"),
    (("greenhouse", "--against", "mine.toml"), "too high to be plausible"),
])  # fmt: skip
def test_one_error_and_nothing_written(cli, tmp_path, monkeypatch, arguments, said):
    monkeypatch.chdir(tmp_path)
    changed_file(tmp_path, largest="3000 kW")
    before = (tmp_path / "mine.toml").read_bytes()
    done = cli("size", *arguments, *ON)
    assert done.code == 2
    assert done.out == ""
    assert len(done.err.strip().splitlines()) == 1
    assert said in done.err
    assert [path.name for path in tmp_path.iterdir()] == ["mine.toml"]
    assert (tmp_path / "mine.toml").read_bytes() == before


def test_a_typed_limit_on_the_unsafe_side_is_refused(cli, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(loop_text("greenhouse") + '\ntank_trip = "80 degC"\n', "utf-8")
    done = cli("size", str(path), *ON)
    assert done.code == 2
    assert "limits.tank_trip" in done.err
