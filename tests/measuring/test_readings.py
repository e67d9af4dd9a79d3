"""Tables of readings: what is taken, and what is refused with its line."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilward.loop.errors import InputRefused
from coilward.measuring.meter import COLUMNS
from coilward.measuring.readings import from_csv, grouped, header, odd_ones
from coilward.measuring.thermometer import columns
from tests.measuring.tables import faults, read

HEAD = "pulses, mass kg, water degC\n"


def test_units_stand_in_the_first_line_or_in_a_cell():
    text = (
        "# of the greenhouse\n\npulses,mass (kg),water\n3119, 9.03, 53.6 °F\n\n"
        '"3_120", 19.9 lb, 12 degC\r\n'
    )
    first, second = read(COLUMNS, text)
    assert (first.line, first.number("mass"), first.number("water")) == (4, 9.03, pytest.approx(12))
    assert (second.line, second.number("pulses")) == (6, 3120)
    assert second.number("mass") == pytest.approx(9.0265, abs=1e-4)
    assert (first.typed["mass"], second.typed["mass"]) == ("9.03 kg", "19.9 lb")


def test_words_are_read_in_any_case():
    [reading] = read(columns("ntc"), "Bath, Reading kohm\nICE , 32.65\n")
    assert reading.word("bath") == "ice"
    assert reading.number("reading") == pytest.approx(32650)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (HEAD + "nan, 9, 12\n", 2, "pulses = nan: the number is not finite"),
        (HEAD + "inf, 9, 12\n", 2, "not finite"),
        (HEAD + "-5, 9, 12\n", 2, "pulses = -5: this is too low"),
        (HEAD + "0, 9, 12\n", 2, "pulses = 0: this is too low"),
        (HEAD + "1.5, 9, 12\n", 2, "a whole number is wanted"),
        (HEAD + "3000, 0, 12\n", 2, "mass = 0: this is too low"),
        (HEAD + "3000, 9, 12 s\n", 2, '"s" is not a unit of a temperature'),
        (HEAD + "3000, 9, 104\n", 2, "this is too high to be plausible"),
        (HEAD + "3000, nine, 12\n", 2, "this is not one number followed by a unit"),
        (HEAD + "3000, 9\n", 2, "water: there is nothing here"),
        (HEAD + "3000, 9, 12, 13\n", 2, "too many cells"),
        (HEAD, None, "there is no reading in it"),
        ("3000, 9, 12\n3000, 9, 12\n", 1, "the first line names no column"),
        ("pulses, mas kg, water degC\n1, 1, 1\n", 1, 'the nearest is "mass"'),
        ("pulses, mass stone, water degC\n1, 1, 1\n", 1, '"stone" is not a unit of a mass'),
        ("pulses, mass kg, mass lb, water degC\n1,1,1,1\n", 1, "this column is there twice"),
        ("pulses, mass kg\n3000, 9\n", 1, "the column water (temperature of the water) is missing"),
        ("pulses, mass, water degC\n3000, 9, 12\n", 2, "the number has no unit"),
        (HEAD + '3000, "9, 12\n', None, "this is not CSV"),
        (HEAD + "3000, 9, 12\n" * 10_001, None, "more than 10000 lines"),
    ],
)
def test_each_fault_has_its_line_and_what_would_be_accepted(text, line, words):
    [fault] = faults(lambda: read(COLUMNS, text))
    assert fault.startswith(f"t.csv:{line}: " if line else "t.csv: ")
    assert words in fault
    assert ". Accepted: " in fault


def test_every_fault_is_told_in_one_go():
    assert len(faults(lambda: read(COLUMNS, HEAD + "0, 9, 12\n3000, -1, 12\n3000, 9, 912\n"))) == 3


def test_the_example_in_the_messages_is_accepted():
    assert header(COLUMNS) == "pulses, mass kg, water degC, time s"
    assert len(read(COLUMNS, header(COLUMNS) + "\n3119, 9.03, 12, 60\n")) == 1


@given(st.text(max_size=200))
def test_no_text_breaks_the_reader(text):
    try:
        readings = list(from_csv(text, COLUMNS, "t.csv"))
    except InputRefused:
        return
    assert all(each.number("pulses") >= 1 for each in readings)


def test_groups_end_where_the_next_is_a_fifth_more():
    assert grouped([2.2, 12.0, 2.3, 5.5, 11.9], 0.2) == [[0, 2], [3], [4, 1]]
    assert grouped([], 0.2) == []


def test_the_odd_one_is_told_from_the_others():
    assert odd_ones([345.0, 157.0, 344.0]) == [345 / 344, 157 / 344, 1.0]
    assert odd_ones([345.0, 157.0]) == [1.0, 1.0]
