"""Broken loop and night files: each has one clear reason to be refused.

`BROKEN_FILES` is the table for other tests: name, kind ("loop" or "night"), and a maker that
writes the file into a directory and gives the path to read. `CASES` adds what the refusal
has to say.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from coilward.loop.shipped import loop_text

Maker = Callable[[Path], Path]


class Case(NamedTuple):
    name: str
    kind: str
    make: Maker
    at: str | None
    """Start of the line that the refusal must point to; None where there is no line."""
    says: tuple[str, ...]
    """Words that the refusal must hold: the value, the problem, what is accepted."""


LOOP = loop_text("greenhouse")
NIGHT = """\
coilward = 1
name = "a night"
about = "Something happens."
duration = "2 h"
start = "running"

[[moment]]
at = "10 min"
do = "reload"
mass = "4 kg"

[[moment]]
at = "30 min"
do = "fault"
fault = "pump-weak"
for = "6 s"
size = 0.8

[[moment]]
at = "40 min"
do = "hold"
heat = "largest"

[[moment]]
at = "50 min"
do = "weather"
outdoor = "-12 degC"
"""
GOOD = {"loop": LOOP, "night": NIGHT}


def written(content: str | bytes) -> Maker:
    def make(directory: Path) -> Path:
        path = directory / "mine.toml"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return make


def edited(kind: str, old: str, new: str) -> Maker:
    good = GOOD[kind]
    assert good.count(old) >= 1, old
    return written(good.replace(old, new, 1))


def edit(name: str, kind: str, old: str, new: str, *says: str, at: str | None = "") -> Case:
    """One edit of a good file; the fault is expected on the edited line."""
    line = new.splitlines()[-1] if at == "" else at
    return Case(name, kind, edited(kind, old, new), line, says)


def directory(place: Path) -> Path:
    path = place / "mine.toml"
    path.mkdir()
    return path


def missing(place: Path) -> Path:
    return place / "mine.toml"


def through_a_file(place: Path) -> Path:
    (place / "file").write_text("x")
    return place / "file" / "mine.toml"


def link_to_itself(place: Path) -> Path:
    path = place / "mine.toml"
    path.symlink_to(path)
    return path


def whole(name: str, make: Maker, *says: str) -> list[Case]:
    """The same trouble with a file as a whole, for both kinds."""
    return [Case(f"{kind}: {name}", kind, make, None, says) for kind in ("loop", "night")]


CURVE = LOOP[LOOP.index('    { flow = "5 L/min"') : LOOP.index('    { flow = "19.5')]
RADIATOR = LOOP[LOOP.index("[radiator]") : LOOP.index("# ---- The dump")]
ALTITUDE = 'altitude = "1000 m"'
CASES: list[Case] = [
    # numbers and units of a loop
    edit("number without a unit", "loop", ALTITUDE, "altitude = 1000", "1000", "no unit", "1000 m"),
    edit("text without a unit", "loop", ALTITUDE, 'altitude = "1000"', '"1000"', "no unit"),
    edit("wrong dimension", "loop", ALTITUDE, 'altitude = "1000 kg"', '"kg"', "m, cm"),
    edit("invented unit", "loop", ALTITUDE, 'altitude = "1000 zoll"', '"zoll"', "a length"),
    edit("decimal comma", "loop", ALTITUDE, 'altitude = "1,000 m"', '"1,000 m"', "one number"),
    edit("two numbers", "loop", ALTITUDE, 'altitude = "900 to 1000 m"', "900 to 1000 m"),
    edit("unit alone", "loop", ALTITUDE, 'altitude = "m"', '"m"', "one number", "1000 m"),
    edit("empty text", "loop", ALTITUDE, 'altitude = ""', '""', "one number", "1000 m"),
    edit("feet taken for metres", "loop", ALTITUDE, 'altitude = "6000 m"', '"6000 ft" was meant'),
    edit("NaN with a unit", "loop", ALTITUDE, 'altitude = "nan m"', '"nan m"', "not finite"),
    edit("bare NaN", "loop", ALTITUDE, "altitude = nan", "nan", "not finite", "4500 m"),
    edit("infinite", "loop", ALTITUDE, 'altitude = "inf m"', '"inf m"', "not finite", "4500 m"),
    edit("bare infinity", "loop", "peak_to_mean = 1.5", "peak_to_mean = inf", "inf", "at most 4"),
    edit("overflow", "loop", ALTITUDE, 'altitude = "1e999 m"', '"1e999 m"', "not finite"),
    edit("huge", "loop", ALTITUDE, 'altitude = "1e300 m"', '"1e300 m"', "too high", "4500 m"),
    edit("huge, as typed in feet", "loop", ALTITUDE, 'altitude = "99000 ft"', "14763.8 ft"),
    edit("huge whole number", "loop", "fans = 2", "fans = 1" + "0" * 400, "not finite"),
    edit("negative length", "loop", 'length = "20 m"', 'length = "-20 m"', '"-20 m"', "0.5 m"),
    edit("negative volume", "loop", 'water = "300 L"', 'water = "-300 L"', "at least 10 L"),
    edit("mass for volume", "loop", 'water = "300 L"', 'water = "661 lb"', '"lb"', "m3, gal"),
    edit("absolute for difference", "loop", 'noise = "0.05 K"', 'noise = "0.05 degC"', '"degC"',
         "delta_F", at="coil_outlet_a"),
    edit("BTU/h taken for kW", "loop", 'largest = "18 kW"', 'largest = "61 kW"', "60 kW"),
    edit("percent over a hundred", "loop", 'stop = "46 %"', 'stop = "510 %"', "at most 90 %"),
    edit("percent without its sign", "loop", 'stop = "46 %"', "stop = 51", "51", "at most 0.9"),
    edit("half a fan", "loop", "fans = 2", "fans = 2.5", "2.5", "whole number", "fans = 2"),
    edit("true for a number", "loop", "fans = 2", "fans = true", "true", "whole number"),
    edit("a list for a number", "loop", ALTITUDE, "altitude = [1000]", "[1000]", "a length"),
    # keys and words of a loop
    edit("unknown key", "loop", ALTITUDE, 'altitud = "1000 m"', '"altitude"', ALTITUDE),
    edit("attribute for a key", "loop", ALTITUDE, "altitude_m = 1000.0", '"altitude"'),
    edit("unknown key, none near", "loop", ALTITUDE, ALTITUDE + "\nqqqq = 1", "altitude, outdoor"),
    edit("unknown section", "loop", "[radiator]", "[radiatr]", '"radiator"', "fans_on"),
    edit("missing key", "loop", ALTITUDE + " ", "# ", "missing", ALTITUDE, at="[site]"),
    edit("missing section", "loop", "[meter]", "[metering]", '"meter"', "345 pulses/L"),
    edit("unknown word", "loop", 'kind = "room" ', 'kind = "rom"', '"rom"', "room, tub"),
    edit("unknown element", "loop", '"meter", "valve"', '"metre", "valve"', '"metre"', '"meter"',
         at="path ="),
    edit("text for a switch", "loop", "level = true", 'level = "yes"', '"yes"', "true or false"),
    edit("number for a switch", "loop", "level = true", "level = 1", "true or false"),
    edit("date in quotes", "loop", "{ proven = 2026-09-12 }", '{ proven = "2026-09-12" }',
         "without quotes", "2026-09-12", at="valve_stop"),
    edit("a day that does not exist", "loop", "proven = 2026-09-12", "proven = 2026-02-30",
         "2026-02-30", at="open_vent"),
    edit("section for a number", "loop", "[limits]\n", "[limits.set_point]\n", "a temperature in"),
    edit("number for a name", "loop", 'name = "greenhouse"', "name = 7", "7", "text in quotes"),
    edit("empty name", "loop", 'name = "greenhouse"', 'name = ""', "the text is empty"),
    edit("long name", "loop", 'name = "greenhouse"', f'name = "{"g" * 61}"', "too long"),
    edit("curve too short", "loop", CURVE, "", "the list is too short", at="curve ="),
    edit("passive device as a word", "loop", "horn_battery = {", "horn_battery = 1 #",
         "its own keys", "proven = 2026-10-03"),
    # keys that contradict each other
    edit("largest under nominal", "loop", 'largest = "18 kW"', 'largest = "9 kW"', "at least the"),
    edit("curve that rises", "loop", 'head = "46 kPa"', 'head = "60 kPa"', "under 58 kPa",
         at='    { flow = "10'),
    edit("current outside its window", "loop", 'current_low = "2.4 A"', 'current_low = "5 A"',
         "less than 4 A"),
    edit("low-low over low", "loop", 'low_low = "40 %"', 'low_low = "80 %"', "less than 70 %"),
    edit("walls thicker than the tube", "loop", 'outside_diameter = "22 mm"\nwall = "0.9 mm"',
         'outside_diameter = "6 mm"\nwall = "3 mm"', "a wall under 2 mm"),
    edit("turns tighter than the tube", "loop", '22 mm"\nwall = "0.9 mm"\nturn_diameter = "0.4 m"',
         '28 mm"\nwall = "0.9 mm"\nturn_diameter = "5 cm"', "more than 56 mm"),
    edit("running current over its window", "loop", 'current_high = "6.4 A"',
         'current_high = "3 A"', "more than 4 A"),
    edit("two pumps", "loop", '"pump", "meter"', '"pump", "pump", "meter"', "2 elements called",
         at="path ="),
    edit("radiator not in the path", "loop", '"radiator", "tank"]', '"tank"]', "do not agree",
         at="path ="),
    edit("no radiator", "loop", RADIATOR, "", "no section [radiator]", at="kind ="),
    edit("level of a whole tank", "loop", 'low = "70 %"', 'low = "100 %"', "less than 100 %"),
    edit("pipe wider inside", "loop", 'outside_diameter = "25 mm"', 'outside_diameter = "18 mm"',
         "more than 20 mm"),
    edit("vent under the water", "loop", 'vent_top = "2.6 m"', 'vent_top = "1.2 m"', "1.6 m"),
    edit("path that ends nowhere", "loop", '"radiator", "tank"]', '"radiator"]', "tank to tank",
         at="path ="),
    edit("a stop that leaves nothing open", "loop", 'stop = "46 %"', 'stop = "0 %"', "stop leaves",
         at="valve_stop"),
    # the file's text
    edit("key given twice", "loop", ALTITUDE, ALTITUDE + '\naltitude = "900 m"', "already given"),
    edit("unclosed text", "loop", ALTITUDE, 'altitude = "1000 m', "not TOML"),
    edit("wrong version", "loop", "coilward = 1 ", "coilward = 2", "2", "coilward = 1"),
    edit("version in quotes", "loop", "coilward = 1 ", 'coilward = "1"', '"1"', "coilward = 1"),
    Case("no version", "loop", edited("loop", "coilward = 1 ", "# "), None, ("is missing",)),
    Case("cut in a list", "loop", written(LOOP[: LOOP.index("15 L/min") + 3]), "    { flow = \"15",
         ("not TOML",)),
    Case("cut between sections", "loop", written(LOOP[: LOOP.index("[power]")]), None,
         ("power", "section is missing")),
    Case("a night where a loop is wanted", "loop", written(NIGHT), None, ("a loop file",)),
    Case("brackets without end", "loop", written("a = " + "[" * 100_000), None, ("nested",)),
    # nights
    edit("time without a unit", "night", 'at = "10 min"', "at = 10", "10", "no unit", "30 min"),
    edit("negative time", "night", 'at = "10 min"', 'at = "-10 min"', '"-10 min"', "at least 0"),
    edit("time in metres", "night", 'duration = "2 h"', 'duration = "2 m"', '"m"', "min"),
    edit("night of a year", "night", 'duration = "2 h"', 'duration = "8766 h"', "at most 48 h"),
    edit("moment after the end", "night", 'at = "50 min"', 'at = "5 h"', "after the end"),
    edit("pounds typed as kilograms", "night", 'mass = "4 kg"', 'mass = "40 kg"', '"40 kg"',
         "at most 25 kg"),
    edit("mass without a unit", "night", 'mass = "4 kg"', "mass = 4", "no unit", "0.5 charge"),
    edit("negative mass", "night", 'mass = "4 kg"', 'mass = "-4 kg"', '"-4 kg"', "more than 0"),
    edit("mass NaN", "night", 'mass = "4 kg"', 'mass = "nan charge"', "nan", "0.5 charge"),
    edit("unknown act", "night", 'do = "reload"', 'do = "relaod"', '"relaod"', '"reload"'),
    edit("unknown fault", "night", '"pump-weak"', '"pump-week"', '"pump-week"', '"pump-weak"',
         at="fault ="),
    edit("fault with a size it has not", "night", '"pump-weak"', '"pump-dies"', "has no size",
         at="size ="),
    edit("size out of range", "night", "size = 0.8", "size = 5", "5", "0.75 to 0.99"),
    edit("size with a unit", "night", "size = 0.8", 'size = "50 kW"', '"kW"', "plain number"),
    edit("fault without a name", "night", 'fault = "pump-weak"', "# ", "needs this key",
         at="[[moment]]"),
    edit("heat as a word", "night", 'heat = "largest"', 'heat = "biggest"', '"biggest"', "nominal"),
    edit("huge heat", "night", 'heat = "largest"', 'heat = "900 kW"', '"900 kW"', "0.1 kW to 60"),
    edit("key of another act", "night", 'heat = "largest"', 'heat = "largest"\nmass = "1 kg"',
         "takes no such key"),
    edit("weather on the sun", "night", 'outdoor = "-12 degC"', 'outdoor = "5500 degC"', "40 degC"),
    edit("unknown start", "night", 'start = "running"', 'start = "warm"', "cold, running"),
    edit("night of another version", "night", "coilward = 1", "coilward = 3", "3", "coilward = 1"),
    edit("one moment in single brackets", "night", NIGHT[NIGHT.index("[[moment]]") :],
         '[moment]\nat = "1 h"\ndo = "finish"\n', "a list is wanted", at="[moment]"),
    Case("a loop where a night is wanted", "night", written(LOOP), None, ("a night file",)),
    # whole files
    *whole("directory", directory, "directory", "TOML"),
    *whole("missing file", missing, "no such file", "shipped"),
    *whole("path through a file", through_a_file, "cannot be read"),
    *whole("link to itself", link_to_itself, "cannot be read"),
    *whole("empty", written(""), "empty", "TOML"),
    *whole("blank", written(" \n\n"), "empty", "TOML"),
    *whole("binary", written(b"\x7fELF\x02\x01\x00\x00"), "binary", "TOML"),
    *whole("other encoding", written('name = "H\xfctte"'.encode("latin-1")), "line 1", "UTF-8"),
    *whole("too large", written("#" * 1_000_001), "larger than 1000 kB"),
]  # fmt: skip

BROKEN_FILES: list[tuple[str, str, Maker]] = [(case.name, case.kind, case.make) for case in CASES]

BROKEN_IDS = [f"{name}-{kind}" for name, kind, _ in BROKEN_FILES]
