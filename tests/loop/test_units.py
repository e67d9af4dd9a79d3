"""Units against pint (a second, independent table), and the handbook figures below.

Exact sizes: BTU(IT) 1055.05585262 J, US gallon 3.785411784 L, pound 0.45359237 kg,
psi 6894.757293168 Pa (NIST SP 811, appendix B; figures from memory and from pint's table).
"""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from coilward.loop import units
from coilward.loop.model import CurvePoint, Heights, Site
from coilward.loop.units import Quantity, Section, convert, show

PINT: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
NAMES = {
    "degF": "degF", "deg C": "degC", "C": "degC", "celsius": "degC", "deg F": "degF", "F": "degF",
    "fahrenheit": "degF", "delta_C": "delta_degC", "delta_F": "delta_degF", "US gal": "gallon",
    "gal": "gallon", "lpm": "L/min", "gpm": "gallon/min", "gph": "gallon/hour", "lbs": "lb",
    "W/mK": "W/m/K", "W/m2K": "W/m**2/K", "Kv": "m**3/hour", "pulses/L": "1/L", "pulse/L": "1/L",
    "/L": "1/L", "pulses/gal": "1/gallon", "W/degC": "W/delta_degC", "sec": "s", "mL": "mL",
    "inch": "inch", "in": "inch", "feet": "foot", "ft": "foot", "minutes": "min", "hours": "hour",
    "mm2": "mm**2", "in2": "inch**2", "ft3": "foot**3",
    "%": "percent", "": "dimensionless", "liter": "L", "litre": "L",
}  # fmt: skip
FACTORS = {
    "kBTU": "kBtu_it", "BTU": "Btu_it", "degF": "delta_degF", "F": "delta_degF",
    "h": "hour", "hr": "hour", "ft2": "foot**2", "ft": "foot", "m2": "m**2", "m3": "m**3",
    "gal": "gallon",
}  # fmt: skip
HEAD = {"mH2O": 9.80665, "ftH2O": 9.80665 * 0.3048}
"""kPa of a metre and a foot of water at 1000 kg/m3 and standard gravity, by hand."""

QUANTITIES: list[Quantity] = [each for each in vars(units).values() if isinstance(each, Quantity)]
SPELLINGS = [(each, spelling) for each in QUANTITIES for spelling in each.sizes]


def in_pint(unit: str) -> str:
    if unit in NAMES:
        return NAMES[unit]
    return "/".join(FACTORS.get(part, part) for part in unit.split("/"))


def typed(number: float, unit: str) -> str:
    return f"{number!r} {unit}"


def words(each: object) -> object:
    return getattr(each, "words", each)


@pytest.mark.parametrize(("quantity", "unit"), SPELLINGS, ids=words)
@pytest.mark.parametrize("number", [0.0, 1.0, 98.6, -3.25])
def test_every_accepted_unit_has_the_size_that_pint_gives_it(
    quantity: Quantity, unit: str, number: float
) -> None:
    if quantity.whole:
        number = round(number)
    mine = quantity.parse(typed(number, unit))
    if unit in HEAD:
        assert mine == pytest.approx(number * HEAD[unit], rel=1e-12)
        return
    if unit == "Cv":  # IEC 60534: Kv = 0.86498 Cv; pint has no flow coefficient
        assert mine == pytest.approx(0.86498 * number, rel=1e-12)
        return
    oracle = PINT.Quantity(number, in_pint(unit)).to(in_pint(quantity.unit)).magnitude
    assert mine == pytest.approx(oracle, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("text", "quantity", "value"), [
    ("212 °F", units.CELSIUS, 100.0),
    ("-40 F", units.CELSIUS, -40.0),
    ("95 degC", units.CELSIUS, 95.0),
    ("95 °C", units.CELSIUS, 95.0),
    ("95C", units.CELSIUS, 95.0),
    ("373.15 K", units.CELSIUS, 100.0),
    ("9 delta_F", units.KELVIN, 5.0),
    ("1 BTU/h", units.KILOWATTS, 1055.05585262 / 3600 / 1000),
    ("1 gal", units.LITRES, 3.785411784),
    ("1 lb", units.KILOGRAMS, 0.45359237),
    ("1 psi", units.KILOPASCALS, 6.894757293168),
    ("10 ft", units.METRES, 3.048),
    ("1 bar", units.KILOPASCALS, 100.0),
    ("0.4 W/(m·K)", units.CONDUCTIVITY, 0.4),
    ("20 W/m²K", units.FILM, 20.0),
    ("20 W / (m^2 K)", units.FILM, 20.0),
    ("1 BTU/(h·°F)", units.WATTS_PER_KELVIN, 1055.05585262 / 3600 * 1.8),
    ("  6   L/min ", units.LITRES_PER_MINUTE, 6.0),
    ("6 l/MIN", units.LITRES_PER_MINUTE, 6.0),
    ("1e3 m", units.METRES, 1000.0),
    (".5 m", units.METRES, 0.5),
    ("5. m", units.METRES, 5.0),
    ("\N{MINUS SIGN}5 degC", units.CELSIUS, -5.0),
    ("20 %", units.SHARE, 0.2),
    ("0.2", units.SHARE, 0.2),
    (0.2, units.SHARE, 0.2),
    ("20%", units.SHARE, 0.2),
    (2, units.COUNT, 2.0),
])  # fmt: skip
def test_as_people_type_them(text: object, quantity: Quantity, value: float) -> None:
    assert quantity.parse(text) == pytest.approx(value, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("quantity", QUANTITIES, ids=words)
@pytest.mark.parametrize("value", [
    "", " ", "m", "5 furlong", "five m", "nan", "inf", "-inf", "1e999 m", "1,5 m", "1..5 m",
    "5 m 3", "5 m s", "5 kWh", "0x10 m", "5 MW", "5 mW", "- 5 m",
    None, True, [1], {"a": 1}, math.nan, math.inf, 10**400,
])  # fmt: skip
def test_what_no_quantity_accepts(quantity: Quantity, value: object) -> None:
    with pytest.raises(PydanticCustomError):
        quantity.parse(value)


@pytest.mark.parametrize("quantity", QUANTITIES, ids=words)
def test_a_number_needs_its_unit_unless_it_has_none(quantity: Quantity) -> None:
    for bare in (3, 3.0, "3"):
        if quantity in (units.SHARE, units.RATIO, units.COUNT):
            assert quantity.parse(bare) == 3
        else:
            with pytest.raises(PydanticCustomError, match="no unit"):
                quantity.parse(bare)


@pytest.mark.parametrize("quantity", QUANTITIES, ids=words)
def test_the_example_of_a_quantity_is_accepted(quantity: Quantity) -> None:
    assert math.isfinite(quantity.parse(quantity.example))


@given(st.sampled_from(SPELLINGS), st.floats(-1e6, 1e6))
def test_spelling_and_parsing_are_inverse(spelling: tuple[Quantity, str], value: float) -> None:
    quantity, unit = spelling
    if quantity.whole:
        value = float(round(value))
    spelled = quantity.spell(value, unit)
    assert spelled.endswith(unit)
    # Six digits are printed, of a number that an offset of 460 may have made small.
    assert quantity.parse(spelled) == pytest.approx(value, rel=1e-5, abs=3e-3)


@given(st.text(max_size=12) | st.floats() | st.integers())
def test_any_input_is_a_finite_number_or_refused(value: object) -> None:
    for quantity in QUANTITIES:
        try:
            number = quantity.parse(value)
        except PydanticCustomError:
            continue
        assert math.isfinite(number)


def test_code_gives_bare_numbers_by_attribute_names_only() -> None:
    assert CurvePoint(flow_lpm=6, head_kpa=40.0).flow_lpm == 6.0
    with pytest.raises(ValidationError):
        Site.model_validate({"altitude": 300.0, "outdoor": -5.0})
    with pytest.raises(ValidationError):
        Site.model_validate({"altitude_m": math.nan, "outdoor_c": -5.0})
    with pytest.raises(ValidationError):
        Site.model_validate({"altitude_m": 9999.0, "outdoor_c": -5.0})


def test_a_section_survives_dump_and_read() -> None:
    heights = Heights(tank_water_m=1.6, coil_top_m=1.0, vent_top_m=2.6, pump_m=0.2)
    assert Heights.model_validate(heights.model_dump()) == heights
    assert issubclass(Heights, Section)


@pytest.mark.parametrize(("value", "unit", "si", "us"), [
    (61.5, "c", "61.5 °C", "142.7 °F"),
    (5.0, "k", "5.0 K", "9.0 F°"),
    (3.785411784, "lpm", "3.79 L/min", "1.00 gpm"),
    (12.0, "kw", "12.0 kW", "40.9 kBTU/h"),
    (12000.0, "w", "12.00 kW", "40.9 kBTU/h"),
    (0.45359237, "kg", "0.45 kg", "1.00 lb"),
    (0.3048, "m", "0.3 m", "1.0 ft"),
    (25.4, "mm", "25.4 mm", "1.000 in"),
    (3.785411784, "l", "3.79 L", "1.00 gal"),
    (6.894757293168, "kpa", "6.9 kPa", "1.00 psi"),
    (30336.0, "j_k", "30.34 kJ/K", "15.97 BTU/F°"),
    (400.0, "w_k", "400 W/K", "758 BTU/h/F°"),
    (34.4, "s", "34.4 s", "34.4 s"),
    (math.nan, "c", "not known", "not known"),
    (math.inf, "c", "no limit", "no limit"),
])  # fmt: skip
def test_shown_to_people(value: float, unit: str, si: str, us: str) -> None:
    assert show(value, unit, "si") == si
    assert show(value, unit, "us") == us


@pytest.mark.parametrize(("unit", "quantity", "spelling"), [
    ("c", units.CELSIUS, "degF"), ("k", units.KELVIN, "delta_F"), ("kw", units.KILOWATTS, "kBTU/h"),
    ("lpm", units.LITRES_PER_MINUTE, "gpm"), ("w_k", units.WATTS_PER_KELVIN, "BTU/h/degF"),
    ("kg", units.KILOGRAMS, "lb"), ("m", units.METRES, "ft"), ("mm", units.MILLIMETRES, "in"),
    ("l", units.LITRES, "gal"), ("kpa", units.KILOPASCALS, "psi"),
    ("kj_k", units.HEAT_CAPACITY, "BTU/degF"),
])  # fmt: skip
@given(value=st.floats(-1e4, 1e4))
def test_shown_and_typed_units_agree(
    unit: str, quantity: Quantity, spelling: str, value: float
) -> None:
    number, _ = convert(value, unit, "us")
    assert quantity.parse(typed(number, spelling)) == pytest.approx(value, rel=1e-9, abs=1e-9)
