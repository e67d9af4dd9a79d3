"""Loop and night files that are accepted: the shipped ones, and what a builder may type."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilward.loop.document import loop_id, read_loop, read_text
from coilward.loop.fields import Field, entry, example, field_at, fields_of
from coilward.loop.hydraulics import flow_lpm, rated_flow_lpm, system_coefficients
from coilward.loop.model import Loop
from coilward.loop.places import places
from coilward.loop.rules import LOOP_RULES
from coilward.loop.shipped import loop_names, loop_text
from coilward.simulator import night as nights
from coilward.simulator.faults import FAULTS
from coilward.simulator.night import Heat, Night, Wood, night_names, night_text, read_night

from .broken_files import GOOD, written

MINIMUM = {
    "open_vent", "valve_stop", "gravity_damper", "no_volt_release", "pump_battery", "horn_battery",
}  # fmt: skip
"""Hardware that works with the supply dead, of which a shipped loop lacks none."""


def test_the_shipped_names() -> None:
    assert loop_names() == ["boathouse", "greenhouse", "hot-tub"]
    assert set(night_names()) == {
        "quiet", "pump-dies", "pump-stalls", "fans-fail", "valve-jams", "outlet-open",
        "outlet-frozen", "outlet-bad-frame", "meter-dead", "supply-lost", "too-much-heat", "frost",
        "largest-held", "board-reboots",
    }  # fmt: skip
    with pytest.raises(KeyError):
        loop_text("../model")
    with pytest.raises(KeyError):
        night_text("")


@pytest.mark.parametrize(
    ("name", "nominal_kw", "largest_kw", "open_lpm", "tank_l", "air_c", "altitude_m"),
    [
        ("boathouse", 5, 8, 6, 150, 15, 300),
        ("greenhouse", 12, 18, 12, 300, 8, 1000),
        ("hot-tub", 9, 14, 10, 1500, -2, 0),
    ],
)
def test_the_shipped_loops_are_those_of_the_worked_examples(
    name: str, nominal_kw: float, largest_kw: float, open_lpm: float, tank_l: float,
    air_c: float, altitude_m: float,
) -> None:  # fmt: skip
    loop = read_loop(name)
    assert (loop.fire.nominal_kw, loop.fire.largest_kw) == (nominal_kw, largest_kw)
    assert (loop.tank.water_l, loop.room.air_c) == (tank_l, air_c)
    assert loop.site.altitude_m == altitude_m
    # pump curve against lines, coil and open valve, by the full sum
    assert rated_flow_lpm(loop) == pytest.approx(open_lpm, rel=0.01)
    stop_lpm = flow_lpm(system_coefficients(loop), loop.valve.stop, 1.0)
    assert 0.2 * open_lpm < stop_lpm < 0.5 * open_lpm
    fitted = {key for key, value in loop.passive if value is not None}
    assert fitted >= MINIMUM
    assert all(
        loop.site.outdoor_c <= air for air in (loop.room.air_c, loop.tank.start_c)
    )


@pytest.mark.parametrize("name", ["boathouse", "greenhouse"])
def test_the_nominal_heat_holds_the_room_on_the_design_night(name: str) -> None:
    loop = read_loop(name)
    needed_w = loop.room.heat_loss_w_k * (loop.room.air_c - loop.site.outdoor_c)
    assert needed_w == pytest.approx(1000 * loop.fire.nominal_kw)
    radiator = loop.radiator
    assert radiator is not None
    # water and metal of the core against its fans: the time in which standing water cools
    still_s = (4186 * radiator.water_l + 1000 * radiator.metal_kj_k) / radiator.fans_on_w_k
    assert 40 <= still_s <= 60
    assert loop.sensors.radiator_outlet is not None
    assert loop.sensors.radiator_outlet.in_air_stream
    assert loop.sensors.flow_switch


@pytest.mark.parametrize("name", loop_names())
def test_every_section_of_a_shipped_file_is_explained(name: str) -> None:
    lines = loop_text(name).splitlines()
    headers = [number for number, line in enumerate(lines) if line.startswith("[")]
    assert len(headers) > 15
    for number in headers:
        before = [line for line in lines[max(0, number - 8) : number + 1] if "#" in line]
        assert before, lines[number]
    opening = "\n".join(lines[:25])
    for word in ("scald", "steam", "carbon monoxide", "fire code", "qualified"):
        assert word in opening.lower()


def test_the_id_follows_the_numbers_and_not_the_text(tmp_path: Path) -> None:
    loop = read_loop("greenhouse")
    same = loop_text("greenhouse").replace('"1000 m"', '"100000 cm"').replace("#", "# #")
    assert loop_id(read_loop(written(same)(tmp_path))) == loop_id(loop)
    other = loop.model_copy(update={"site": loop.site.model_copy(update={"altitude_m": 1001.0})})
    assert loop_id(other) != loop_id(loop)
    assert len(loop_id(loop)) == 12
    assert int(loop_id(loop), 16) >= 0
    assert len({loop_id(read_loop(name)) for name in loop_names()}) == 3


def test_the_same_loop_in_us_units(tmp_path: Path) -> None:
    text = loop_text("greenhouse")
    for si, us in (
        ('"1000 m"', '"3280.839895 ft"'),
        ('outdoor = "-8 degC"', 'outdoor = "17.6 °F"'),
        ('nominal = "12 kW"', 'nominal = "40.94569963 kBTU/h"'),
        ('water = "300 L"', 'water = "79.25161571 gal"'),
        ('head = "62 kPa"', 'head = "8.992339745 psi"'),
        ('quantum = "0.06 K"', 'quantum = "0.108 delta_F"'),
    ):
        assert si in text
        text = text.replace(si, us, 1)
    mine, shipped = read_loop(written(text)(tmp_path)), read_loop("greenhouse")
    for path in ("site.altitude_m", "site.outdoor_c", "fire.nominal_kw", "tank.water_l",
                 "sensors.coil_outlet_a.quantum_k"):  # fmt: skip
        first: Any = mine
        second: Any = shipped
        for part in path.split("."):
            first, second = getattr(first, part), getattr(second, part)
        assert first == pytest.approx(second, rel=1e-8)
    assert mine.pump.curve[0].head_kpa == pytest.approx(62, rel=1e-8)


@pytest.mark.parametrize(
    "change",
    [
        lambda text: "\ufeff" + text,
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.rstrip("\n"),
    ],
    ids=["byte order mark", "carriage returns", "no last line end"],
)
def test_texts_of_other_editors(change: Any, tmp_path: Path) -> None:
    for kind, read in (("loop", read_loop), ("night", read_night)):
        path = tmp_path / f"{kind}.toml"
        path.write_bytes(change(GOOD[kind]).encode())
        assert read(path) == read(written(GOOD[kind])(tmp_path))


def test_places_of_keys_in_every_shape() -> None:
    text = """\
# a = 0
a = "x # not a comment ]"   # [no]
b.c = 1
"d e" = [ 1, [2, 3],
  4 ]   # after
f = \"\"\"
g = 1
\"\"\"
[h]
i = { j = 'k', l = { m = 2026-10-04 } }
[[n]]
o = 1
[[n]]
o = [
  # comment
  { p = 1 },
  { p = 2, q = "}" },
]
[n.r]
s = 1
"""
    tomllib.loads(text)
    found = places(text)
    assert found == {
        ("a",): 2, ("b",): 3, ("b", "c"): 3,
        ("d e",): 4, ("d e", 0): 4, ("d e", 1): 4, ("d e", 1, 0): 4, ("d e", 1, 1): 4,
        ("d e", 2): 5, ("f",): 6, ("h",): 9, ("h", "i"): 10, ("h", "i", "j"): 10,
        ("h", "i", "l"): 10, ("h", "i", "l", "m"): 10, ("n",): 11, ("n", 0): 11,
        ("n", 0, "o"): 12, ("n", 1): 13, ("n", 1, "o"): 14, ("n", 1, "o", 0): 16,
        ("n", 1, "o", 0, "p"): 16, ("n", 1, "o", 1): 17, ("n", 1, "o", 1, "p"): 17,
        ("n", 1, "o", 1, "q"): 17, ("n", 1, "r"): 19, ("n", 1, "r", "s"): 20,
    }  # fmt: skip


@given(st.text(alphabet='ab.=[]{}"\'#\n,1 ', max_size=40))
def test_places_ends_on_any_text(text: str) -> None:
    assert all(line >= 1 for line in places(text).values())


@pytest.mark.parametrize("kind", ["loop", "night"])
def test_every_key_of_the_shipped_files_has_its_line(kind: str) -> None:
    names, text_named = (loop_names, loop_text) if kind == "loop" else (night_names, night_text)
    for text in map(text_named, names()):
        found, lines = places(text), text.splitlines()
        for path in walk(tomllib.loads(text)):
            key = path[-1]
            assert isinstance(key, int) or key in lines[found[path] - 1]


def walk(data: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    inside = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in inside:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from walk(value, (*path, key))


def declared(field: Field, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for name, info in fields_of(field).items():
        key = (*path, info.alias or name)
        yield key
        assert isinstance(field.kind, type)
        inner = field_at(field.kind, (key[-1],))
        if inner.section and not inner.many:
            yield from declared(inner, key)


@pytest.mark.parametrize("path", list(declared(Field(Loop))), ids=".".join)
def test_the_example_offered_for_a_loop_key_is_accepted(path: tuple[str, ...]) -> None:
    data = tomllib.loads(loop_text("greenhouse"))
    offered = example(Loop, path, data)
    assert entry(Loop, path, data)
    inside = data
    for size, part in enumerate(path[:-1], start=1):
        # a section that the file does not have is offered with all that it needs
        inside = inside.setdefault(part, dict(example(Loop, path[:size], data)))
    inside[path[-1]] = offered
    Loop.model_validate(data, by_alias=True, by_name=False)


@pytest.mark.parametrize("key", [path[0] for path in declared(Field(nights.Moment))])
def test_the_example_offered_for_a_moment_is_accepted(key: str) -> None:
    good = tomllib.loads(nights._SAMPLE)
    moment = {"at": "1 min", "do": "reload", key: example(Night, ("moment", 0, key), good)}
    nights.Moment.model_validate(moment, by_alias=True, by_name=False)


@pytest.mark.parametrize("name", night_names())
def test_shipped_nights_fit_any_loop(name: str) -> None:
    night = read_night(name)
    assert night.about.endswith(".")
    assert night.moment == sorted(night.moment, key=lambda moment: moment.at_s)
    for moment in night.moment:
        assert moment.mass is None or moment.mass.unit == "charge"
        assert moment.heat is None or moment.heat.name


def test_the_quiet_night_has_nothing_broken_and_ends_burnt_out() -> None:
    night = read_night("quiet")
    acts = [moment.do for moment in night.moment]
    assert night.duration_s == 8 * 3600
    assert acts[:2] == ["prepare", "light"]
    assert acts[-1] == "finish"
    assert set(acts[2:-1]) == {"reload"}
    assert night.moment[1].at_s - night.moment[0].at_s >= 600
    assert night.moment[-1].at_s == 6.5 * 3600
    assert night.duration_s - night.moment[-1].at_s >= 90 * 60


def test_moments_are_put_in_order_and_amounts_are_read(tmp_path: Path) -> None:
    text = """
coilward = 1
name = "mine"
duration = "2 h"
[[moment]]
at = "1 h"
do = "hold"
heat = "34.12141633 kBTU/h"
[[moment]]
at = "30 min"
do = "reload"
mass = "9 lb"
lively = 2
[[moment]]
at = "31 min"
do = "light"
mass = "1.5 charges"
"""
    night = read_night(written(text)(tmp_path))
    first, second, third = night.moment
    assert first.mass == Wood(9 * 0.45359237, "kg")
    assert second.mass == Wood(1.5, "charge")
    assert third.heat is not None
    loop = read_loop("boathouse")
    assert third.heat.watts(loop) == pytest.approx(10_000)
    assert Heat("largest", 0.0).watts(loop) == 8000
    assert Heat("nominal", 0.0).watts(loop) == 5000


def test_code_can_build_a_moment() -> None:
    heat, wood = Heat("", 3.0), Wood(2.0, "kg")
    moment = nights.Moment(at_s=60, do="hold", heat=heat, mass=wood)
    assert (moment.at_s, moment.heat, moment.mass) == (60.0, heat, wood)


def test_a_loop_survives_dump_and_read() -> None:
    for name in loop_names():
        loop = read_loop(name)
        assert Loop.model_validate(loop.model_dump()) == loop


def test_the_table_of_faults_is_consistent(tmp_path: Path) -> None:
    for name, fault in FAULTS.items():
        assert name == fault.name
        assert fault.words
        sized = fault.lowest is not None and fault.highest is not None
        assert bool(fault.size_meaning) == sized
        if fault.lowest is None or fault.highest is None:
            assert fault.default_size is None
            size = ""
        else:
            assert fault.lowest < fault.highest
            assert fault.default_size is None or fault.lowest <= fault.default_size <= fault.highest
            size = f"size = {fault.highest}\n"
        text = (
            'coilward = 1\nname = "mine"\nduration = "2 h"\n[[moment]]\nat = "1 h"\n'
            f'do = "fault"\nfault = "{name}"\n{size}'
        )
        assert read_night(written(text)(tmp_path)).moment[0].fault == name


def test_every_shipped_fault_night_names_known_faults() -> None:
    named = {moment.fault for name in night_names() for moment in read_night(name).moment}
    assert named - {None} <= set(FAULTS)
    assert len(named) > 9


def test_read_text_names_the_file_that_it_was_given() -> None:
    loop = read_text(
        loop_text("greenhouse"), Loop, file="any", sample=loop_text("greenhouse"), rules=LOOP_RULES
    )
    assert loop == read_loop("greenhouse")
    assert math.isclose(loop.limits.set_point_c or 0, 60)
