"""Editing a loop file in place: only what is meant changes."""

from __future__ import annotations

import re
import tomllib
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilward.loop import editing
from coilward.loop.document import read_loop
from coilward.loop.editing import Change, edited, read_edited
from coilward.loop.errors import InputRefused
from coilward.loop.places import mapped
from coilward.loop.shipped import loop_names, loop_text

GREENHOUSE = loop_text("greenhouse")


def one(text, key, value, **more):
    return edited(text, [Change(key, value, **more)], file="my.toml")


def changed_lines(old, new):
    """Lines of both texts that differ, where their count stays the same."""
    olds, news = old.split("\n"), new.split("\n")
    assert len(olds) == len(news)
    return [(a, b) for a, b in zip(olds, news, strict=True) if a != b]


def test_a_value_keeps_its_unit_and_its_comment_stays_in_its_column():
    new = one(GREENHOUSE, "valve.stop", 0.478, digits=3)
    assert changed_lines(GREENHOUSE, new) == [
        ('stop = "46 %"                   # stroke that the stop leaves open',
         'stop = "47.8 %"                 # stroke that the stop leaves open'),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ('"345 pulses/L"', '"346 pulses/L"'),
        ("'345 pulses/L'", "'346 pulses/L'"),
        ('"345pulses / L"', '"346pulses / L"'),
        ('"1306 pulses/gal"', '"1310 pulses/gal"'),  # 346 x 3.785411784 = 1309.75
        ('"+3_45 1/L"', '"346 1/L"'),
        ('"3.45e2 /L"', '"346 /L"'),
    ],
)
def test_the_unit_stays_as_it_was_typed(typed, wanted):
    text = GREENHOUSE.replace('"345 pulses/L"         ', typed)
    new = one(text, "meter.pulses", 346.0, digits=4)
    assert changed_lines(text, new) == [(f"pulses = {typed}", f"pulses = {wanted}")]


def test_a_temperature_in_fahrenheit_and_a_bare_share_stay_so():
    text = GREENHOUSE.replace('"60 degC"           # what', '"140 degF"          # what')
    assert 'set_point = "131 degF"' in one(text, "limits.set_point", 55.0)
    text = GREENHOUSE.replace('stop = "46 %"  ', "stop = 0.46  ")
    assert "\nstop = 0.478  " in one(text, "valve.stop", 0.478)


@pytest.mark.parametrize(
    ("before", "key", "value", "wanted"),
    [
        ("", "valve.bypass", 1.5, 'bypass = "1.5 L/min"'),
        ("", "sensors.tank.offset", -0.2, 'tank = { kind = "ntc", lag = "10 s", error = "1.5 K", '
         'offset = "-0.2 K" } # at'),
        ("", "sensors.coil_outlet_a.noise", 0.1, 'noise = "0.1 K", quantum'),
        ("", "pump.curve.3.head", 45.0, '{ flow = "10 L/min", head = "45 kPa" },'),
        ("", "pump.voltage", 13.0, 'voltage = "13 V"\ncurrent'),
        ("", "room.people_limit", 40.0, 'loop needs them\npeople_limit = "40 degC"\n'),
        ("", "passive.valve_stop.carries", 18.0, 'proven = 2026-09-12, carries = "18 kW" }   '),
        ("", "sensors.flow_switch", False, "flow_switch = false             # a"),
        ("", "name", "green", 'name = "green"\n'),
    ],
)  # fmt: skip
def test_where_a_change_goes(before, key, value, wanted):
    new = one(GREENHOUSE, key, value)
    assert wanted in new
    assert read_edited(new, "my.toml")


def test_dotted_keys_a_new_section_and_a_header_for_a_thermometer():
    dotted = re.sub(
        r"\ntank = \{.*", '\ntank.kind = "ntc"\ntank.lag = "10 s"  # t\ntank.error = "1.5 K"',
        GREENHOUSE,
    )
    new = one(dotted, "sensors.tank.offset", 0.25)
    assert new == dotted.replace(
        "smoke = false                   # heat or smoke outside the firebox\n",
        "smoke = false                   # heat or smoke outside the firebox\n"
        'tank.offset = "0.25 K"\n',
    )
    bare = GREENHOUSE[: GREENHOUSE.index("[limits]")]
    new = one(bare, "limits.hose_rated", 95.0)
    assert new == bare + '\n[limits]\nhose_rated = "95 degC"\n'
    headed = re.sub(r"\ntank = \{.*", "", GREENHOUSE)
    headed += '\n[sensors.tank]\nkind = "ntc"\n\tlag = "10 s"'
    assert one(headed, "sensors.tank.error", 1.0) == headed + '\n\terror = "1 K"'


def test_the_note_says_when_and_an_older_one_gives_way():
    changes = [Change("valve.stop", 0.47), Change("meter.pulses", 346.0)]
    first = edited(GREENHOUSE, changes, file="f", note="calibrated 2026-11-26")
    assert 'pulses = "346 pulses/L"  # calibrated 2026-11-26\n' in first
    assert "# stroke that the stop leaves open; calibrated 2026-11-26\n" in first
    changes = [Change("valve.stop", 0.48), Change("meter.pulses", 347.0)]
    again = edited(first, changes, file="f", note="calibrated 2027-01-05")
    assert 'pulses = "347 pulses/L"  # calibrated 2027-01-05\n' in again
    assert "# stroke that the stop leaves open; calibrated 2027-01-05\n" in again
    assert "2026-11-26" not in again


def test_a_note_in_a_list_over_many_lines_stands_behind_the_list():
    new = edited(GREENHOUSE, [Change("pump.curve.1.head", 61.0)], file="f", note="run 2026-11-26")
    assert '    { flow = "0 L/min", head = "61 kPa" },\n' in new
    assert '"1 kPa" },\n]  # run 2026-11-26\n' in new


@pytest.mark.parametrize("ending", ["", "\n"])
@pytest.mark.parametrize("name", loop_names())
def test_other_line_ends_and_a_missing_one_at_the_end_stay(name, ending):
    text = loop_text(name).rstrip("\n").replace("\n", "\r\n") + ending.replace("\n", "\r\n")
    new = edited(
        text, [Change("meter.pulses", 346.0), Change("limits.pump_rest", 1.0)], file="f",
        note="x 2026-11-26",
    )  # fmt: skip
    assert "\n" not in new.replace("\r\n", "")
    assert new.endswith("\r\n") == bool(ending)
    assert 'pump_rest = "1 min"  # x 2026-11-26' in new
    assert read_edited(new, "f").meter.pulses_per_litre == 346


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("meter.pulse", 1.0), ("meter", 1.0), ("pump.curve", 1.0), ("pump.curve.9.head", 1.0),
        ("meter.pulses", 5000.0), ("meter.pulses", float("nan")), ("fire.largest", 2.0),
    ],
)  # fmt: skip
def test_what_has_no_place_or_no_sense_is_refused(key, value):
    with pytest.raises(InputRefused):
        one(GREENHOUSE, key, value)


def test_a_result_that_changes_more_than_is_meant_is_refused(monkeypatch):
    """The check does not trust the editing: it is given a wrong one."""

    wrong = [("", "")]

    def careless(text, *_):
        new = text.replace('"345 pulses/L"', '"346 pulses/L"')
        return new.replace(*wrong[0], 1)

    monkeypatch.setattr(editing, "_set", careless)
    assert one(GREENHOUSE, "meter.pulses", 346.0)
    for wrong[0] in (('"46 %"', '"47 %"'), ("# ---- Power", "# ---- Might"), ("1.9 Kv", "1.8 Kv"),
                     ("346", "347")):  # fmt: skip
        with pytest.raises(InputRefused):
            one(GREENHOUSE, "meter.pulses", 346.0)


def test_another_value_in_the_line_that_is_meant_is_refused_too(monkeypatch):
    def careless(text, *_):
        new = text.replace('lag = "10 s", error = "1.5 K"', 'lag = "11 s", error = "1.4 K"')
        assert new != text
        return new

    monkeypatch.setattr(editing, "_set", careless)
    with pytest.raises(InputRefused, match="other values or lines than the ones meant"):
        one(GREENHOUSE, "sensors.tank.error", 1.4)


# --- any file: the same numbers written in other ways, with comments in odd places ---

SPACE = ["", " ", "\t", "  "]
COMMENT = ["", "#", " # a = 1 [x] {", "\t# \"'''\"", "  #\u2028 é; = "]
UNITS = {"345 pulses/L": ["345 pulses/L", "1306 pulses/gal", "345  1/L", "3.45e+2 /L"]}


def rewritten(hand):
    """A shipped file typed by another hand: blanks, quotes, comments, dotted keys, line ends."""
    draw = Random(hand).choice
    data = tomllib.loads(loop_text(draw(loop_names())))
    lines = []

    def scalar(value):
        if isinstance(value, str) and value in UNITS:
            value = draw(UNITS[value])
        if isinstance(value, bool):
            return str(value).lower()
        if isinstance(value, str):
            quote = draw(['"', "'", '"""', "'''"])
            return f"{quote}{value}{quote}"
        return str(value)

    def whole(value):
        if isinstance(value, dict):
            pairs = [f"{k}{draw(SPACE)}={draw(SPACE)}{whole(v)}" for k, v in value.items()]
            inside = f"{draw(SPACE)},{draw(SPACE)}".join(pairs)
            return f"{{{draw(SPACE)}{inside}{draw(SPACE)}}}"
        if isinstance(value, list):
            gap = ["", " ", "\n", "\n\t# c ]\n"]
            items = [f"{draw(gap)}{whole(each)}{draw(gap)}" for each in value]
            return "[" + ",".join(items) + draw(["", ",", ",\n"]) + "]"
        return scalar(value)

    def pair(prefix, key, value):
        lines.append(f"{draw(SPACE)}{prefix}{key}{draw(SPACE)}={draw(SPACE)}{whole(value)}"
                     f"{draw(COMMENT)}")  # fmt: skip

    def section(path, value, depth=0):
        inner = {k: v for k, v in value.items() if isinstance(v, dict)}
        style = {k: draw(["inline", "dotted", "header"]) for k in inner}
        if path:
            lines.extend(draw([[], [""], ["", "# ---- " + path]]))
            lines.append(f"{draw(SPACE)}[{draw(SPACE)}{path}{draw(SPACE)}]{draw(COMMENT)}")
        for key, each in value.items():
            if key not in inner or (style[key] == "inline" and (path or depth)):
                pair("", key, each)
            elif style[key] == "dotted" and path:
                for name, deep in each.items():
                    pair(f"{key}{draw(SPACE)}.{draw(SPACE)}", name, deep)
        for key, each in inner.items():
            if not path or style[key] == "header":
                section(f"{path}.{key}" if path else key, each, depth + 1)

    section("", data)
    end = draw(["\n", "\r\n"])
    return end.join(lines) + draw(["", end])


CHANGES = st.lists(
    st.sampled_from(
        [
            Change("meter.pulses", 346.0), Change("meter.noise", 0.0213, digits=3),
            Change("sensors.tank.error", 0.75), Change("sensors.tank.offset", -0.25),
            Change("valve.stop", 0.478), Change("valve.crack_open", 0.071, digits=2),
            Change("pump.current_low", 2.25), Change("pump.curve.2.head", 49.0),
            Change("limits.pump_rest", 1.5), Change("sensors.co", True),
            Change("layout.heights.vent_top", 2.75), Change("name", "mine"),
        ]
    ),
    min_size=1, max_size=4, unique_by=lambda each: each.key,
)  # fmt: skip


NTC = (
    Change("sensors.tank.ntc.a", 1.129241e-3, digits=8),
    Change("sensors.tank.ntc.b", 2.341077e-4, digits=8),
    Change("sensors.tank.ntc.c", 8.775468e-8, digits=8),
)


def value_at(loop, path):
    for part in path:
        if isinstance(part, int):
            loop = loop[part]
        else:
            fields = type(loop).model_fields
            loop = getattr(loop, next(n for n, f in fields.items() if part in (n, f.alias)))
    return loop


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 2**32), CHANGES, st.sampled_from([(), NTC]),
       st.sampled_from(["", "calibrated 2026-11-26"]))  # fmt: skip
def test_any_file_reads_the_same_but_for_the_changes(hand, changes, more, note):
    text, changes = rewritten(hand), [*changes, *more]
    before = read_edited(text, "f")
    new = edited(text, changes, file="f", note=note)
    after = read_edited(new, "f")
    for change in changes:
        got = value_at(after, change.path)
        assert got == (
            change.value if isinstance(change.value, bool | str)
            else pytest.approx(change.value, rel=1e-2 if change.digits < 3 else 1e-3)
        )  # fmt: skip
        # a section that was not there before comes as a whole
        path = change.path[:3] if "ntc" in change.path else change.path
        before = _with(before, path, value_at(after, path))
    assert after == before
    # every comment is still there, and no line but those of the changes is another one
    olds, news = text.split("\n"), new.split("\n")
    where = mapped(text)
    mine = set()
    for change in changes:
        path = change.path
        while path and path not in where.statements:
            path = path[:-1]
        if path:
            start, end = where.statements[path]
            mine |= set(range(text.count("\n", 0, start), text.count("\n", 0, end) + 1))
    kept = [line.rstrip("\r") for n, line in enumerate(olds) if n not in mine]
    rest = iter(line.rstrip("\r") for line in news)
    assert all(line in rest for line in kept), "a line got lost or moved"
    assert len(news) - len(olds) <= 3 * len(changes)


def _with(section, path, value):
    if not path:
        return value
    first, rest = path[0], path[1:]
    if isinstance(first, int):
        return [_with(e, rest, value) if n == first else e for n, e in enumerate(section)]
    fields = type(section).model_fields
    name = next(n for n, f in fields.items() if first in (n, f.alias))
    return section.model_copy(update={name: _with(getattr(section, name), rest, value)})


def test_the_shipped_files_are_all_walked_to_the_end():
    for name in loop_names():
        text = loop_text(name)
        found = mapped(text)
        assert all(text[a:b].strip() == text[a:b] != "" for a, b in found.values.values())
        assert read_loop(name)
