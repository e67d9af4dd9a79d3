"""Numbers with units, as a person types them: "12 kW", "40 kBTU/h", "149 °F", "1000 ft".

One table a quantity: each accepted spelling with its exact size in the unit that the model's
attributes carry. A number without a unit is refused, because a wrong guess can boil a coil.
Sizes are exact: BTU of the International Table, US gallon, avoirdupois pound, and psi from
the pound-force. `show` goes the other way, for people.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, model_validator
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

System = Literal["si", "us"]
Size = float | tuple[float, float]
"""Factor, or (factor, offset): value = number * factor + offset."""

BTU_J: Final = 1055.05585262
US_GALLON_L: Final = 3.785411784
POUND_KG: Final = 0.45359237
PSI_KPA: Final = 6.894757293168
FOOT_M: Final = 0.3048
INCH_MM: Final = 25.4
WATER_METRE_KPA: Final = 9.80665
"""One metre of water at 1000 kg/m3 under standard gravity."""
KV_PER_CV: Final = 0.86498
"""Kv in m3/h for Cv 1 (IEC 60534)."""

_BTU_H_W: Final = BTU_J / 3600
_DELTA_F_K: Final = 5 / 9
_F_TO_C: Final = (5 / 9, -160 / 9)

NUMBER: Final = re.compile(
    r"[+-]?(?:\d[\d_]*\.?\d*(?:[eE][+-]?\d+)?|\.\d+|nan\b|inf(?:inity)?\b)", re.I
)
"""A number as it is typed before its unit."""
_SAME = str.maketrans({"°": "deg", "º": "deg", "²": "2", "³": "3", "^": "", "Δ": "delta_"})


def _plain(unit: str) -> str:
    """One spelling for the many ways of typing a unit: W/(m·K), W/m/K."""
    text = unit.translate(_SAME)
    text = re.sub(r"\(([^)]*)\)", lambda found: re.sub(r"[·⋅*\s]+", "/", found[1].strip()), text)
    return re.sub(r"[·⋅*]|\s*(/)\s*", r"\1", text).casefold()


@dataclass(frozen=True, eq=False)
class Quantity:
    """What a field measures, and every unit in which it may be typed."""

    words: str
    example: str
    sizes: dict[str, Size]
    """First the unit of the attribute; the others are converted to it."""
    bare: bool = False
    """True where a number without a unit has only one meaning."""
    whole: bool = False

    @property
    def unit(self) -> str:
        """The unit that the attribute carries."""
        return next(iter(self.sizes))

    @property
    def units(self) -> str:
        """The accepted units, one spelling each."""
        first = {size: unit for unit, size in reversed(self.sizes.items())}
        return ", ".join(unit for unit in self.sizes if first[self.sizes[unit]] == unit)

    def size(self, unit: str) -> tuple[float, float] | None:
        """Factor and offset of a typed unit, None where it is not one of this quantity."""
        wanted = _plain(unit)
        for spelling, size in self.sizes.items():
            if _plain(spelling) == wanted:
                return size if isinstance(size, tuple) else (size, 0.0)
        return None

    def parse(self, value: object) -> float:
        """The number in the attribute's unit.

        Raises PydanticCustomError of type "quantity" for anything else than one finite number
        with one accepted unit.
        """
        if isinstance(value, WithUnitInName):
            return float(value)
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise self._refuse(f"{self.words} is wanted, as text with a unit")
        number, unit = split(value)
        if number is None:
            raise self._refuse("this is not one number followed by a unit")
        if not math.isfinite(number):
            raise self._refuse("the number is not finite")
        if self.whole and number != math.floor(number):
            raise self._refuse("a whole number is wanted")
        if not unit:
            if self.bare:
                return number
            raise self._refuse("the number has no unit")
        size = self.size(unit)
        if size is None:
            raise self._refuse(f'"{unit}" is not a unit of {self.words}')
        return number * size[0] + size[1]

    def spell(self, value: float, unit: str | None = None) -> str:
        """The number as a person would type it, in the unit named or the attribute's own."""
        size = self.size(unit) if unit else None
        if unit is None or size is None:
            unit, size = self.unit, (1.0, 0.0)
        number = (value - size[1]) / size[0]
        return f"{number:.6g} {unit}".strip()

    def _refuse(self, problem: str) -> PydanticCustomError:
        return PydanticCustomError("quantity", "{problem}", {"problem": problem})

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Parse first, then let pydantic check the range."""
        return core_schema.no_info_before_validator_function(self._for_model, handler(source))

    def _for_model(self, value: object) -> float | int:
        number = self.parse(value)
        return int(number) if self.whole else number


def split(value: str | int | float) -> tuple[float | None, str]:
    """Number and unit apart; the number is None where the text does not start with one."""
    if not isinstance(value, str):
        return float(value) if abs(value) < 1e308 else math.inf, ""
    text = value.strip().replace("\N{MINUS SIGN}", "-")
    found = NUMBER.match(text)
    if found is None or text[found.end() :].startswith((",", ".", "_")):
        return None, ""
    return float(found[0]), text[found.end() :].strip()


class WithUnitInName(float):
    """A bare number that code gave under an attribute's own name, which carries the unit."""


class Section(BaseModel):
    """A part of a file: unknown keys refused, nothing converted silently, frozen.

    Code may build one by attribute names with bare numbers (`altitude_m=1000.0`); a file
    has only the keys without a unit word, and there every number needs its unit.
    """

    model_config = ConfigDict(extra="forbid", populate_by_name=True, frozen=True, strict=True)

    @model_validator(mode="before")
    @classmethod
    def _bare_by_name(cls, data: object) -> object:
        if not isinstance(data, dict):
            return data
        named = {name for name, field in cls.model_fields.items() if field.alias}
        return {
            key: WithUnitInName(value) if key in named and type(value) in (int, float) else value
            for key, value in data.items()
        }


_TEMPERATURE: Final[dict[str, Size]] = {
    "degC": 1.0, "C": 1.0, "deg C": 1.0, "celsius": 1.0,
    "degF": _F_TO_C, "F": _F_TO_C, "deg F": _F_TO_C, "fahrenheit": _F_TO_C,
    "K": (1.0, -273.15),
}  # fmt: skip
_TIME_S: Final[dict[str, float]] = {
    "s": 1.0, "sec": 1.0, "ms": 1e-3, "min": 60.0, "minutes": 60.0, "h": 3600.0, "hours": 3600.0,
}  # fmt: skip
_TIME_MIN: Final[dict[str, Size]] = {
    "min": 1.0, "minutes": 1.0, "s": 1 / 60, "sec": 1 / 60, "h": 60.0, "hours": 60.0,
}  # fmt: skip

CELSIUS: Final = Quantity("a temperature", "60 degC", _TEMPERATURE)
KELVIN: Final = Quantity(
    "a temperature difference", "1.5 K",
    {"K": 1.0, "delta_C": 1.0, "delta_degC": 1.0, "delta_F": _DELTA_F_K, "delta_degF": _DELTA_F_K},
)  # fmt: skip
METRES: Final = Quantity(
    "a length", "10 m",
    {"m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0, "ft": FOOT_M, "feet": FOOT_M,
     "in": INCH_MM / 1000},
)  # fmt: skip
MILLIMETRES: Final = Quantity(
    "a small length", "15 mm",
    {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": INCH_MM, "inch": INCH_MM, "ft": FOOT_M * 1000},
)  # fmt: skip
SQUARE_METRES: Final = Quantity("an area", "12 m2", {"m2": 1.0, "ft2": FOOT_M**2})
CUBIC_METRES: Final = Quantity(
    "a volume of air", "90 m3", {"m3": 1.0, "L": 0.001, "ft3": FOOT_M**3}
)
SQUARE_MILLIMETRES: Final = Quantity(
    "a wire's cross-section", "2.5 mm2", {"mm2": 1.0, "in2": INCH_MM**2}
)
KILOGRAMS: Final = Quantity(
    "a mass", "4 kg", {"kg": 1.0, "g": 0.001, "lb": POUND_KG, "lbs": POUND_KG}
)
LITRES: Final = Quantity(
    "a volume of water", "300 L",
    {"L": 1.0, "litre": 1.0, "liter": 1.0, "mL": 0.001, "m3": 1000.0, "gal": US_GALLON_L,
     "US gal": US_GALLON_L},
)  # fmt: skip
LITRES_PER_MINUTE: Final = Quantity(
    "a flow", "6 L/min",
    {"L/min": 1.0, "lpm": 1.0, "L/s": 60.0, "L/h": 1 / 60, "m3/h": 1000 / 60, "gpm": US_GALLON_L,
     "gal/min": US_GALLON_L, "gal/h": US_GALLON_L / 60, "gph": US_GALLON_L / 60},
)  # fmt: skip
KILOWATTS: Final = Quantity(
    "a heat", "5 kW",
    {"kW": 1.0, "W": 0.001, "kBTU/h": _BTU_H_W, "BTU/h": _BTU_H_W / 1000,
     "kBTU/hr": _BTU_H_W, "BTU/hr": _BTU_H_W / 1000},
)  # fmt: skip
KILOPASCALS: Final = Quantity(
    "a pressure", "20 kPa",
    {"kPa": 1.0, "Pa": 0.001, "mbar": 0.1, "bar": 100.0, "psi": PSI_KPA,
     "mH2O": WATER_METRE_KPA, "ftH2O": WATER_METRE_KPA * FOOT_M},
)  # fmt: skip
SECONDS: Final = Quantity("a time", "8 s", {**_TIME_S})
MINUTES: Final = Quantity("a time", "25 min", _TIME_MIN)
VOLTS: Final = Quantity("a voltage", "12 V", {"V": 1.0, "mV": 0.001})
AMPERES: Final = Quantity("a current", "3 A", {"A": 1.0, "mA": 0.001})
AMPERE_HOURS: Final = Quantity("a battery's charge", "60 Ah", {"Ah": 1.0, "mAh": 0.001})
WATTS_PER_KELVIN: Final = Quantity(
    "a heat per kelvin", "200 W/K",
    {"W/K": 1.0, "W/degC": 1.0, "kW/K": 1000.0, "BTU/h/degF": _BTU_H_W / _DELTA_F_K,
     "BTU/h/F": _BTU_H_W / _DELTA_F_K, "BTU/hr/F": _BTU_H_W / _DELTA_F_K},
)  # fmt: skip
HEAT_CAPACITY: Final = Quantity(
    "a heat capacity", "10 kJ/K",
    {"kJ/K": 1.0, "J/K": 0.001, "MJ/K": 1000.0, "BTU/degF": BTU_J / 1000 / _DELTA_F_K,
     "BTU/F": BTU_J / 1000 / _DELTA_F_K},
)  # fmt: skip
HEAT_CAPACITY_PER_METRE: Final = Quantity(
    "a heat capacity per length", "0.2 kJ/m/K",
    {"kJ/m/K": 1.0, "J/m/K": 0.001, "BTU/ft/degF": BTU_J / 1000 / _DELTA_F_K / FOOT_M},
)  # fmt: skip
CONDUCTIVITY: Final = Quantity(
    "a thermal conductivity", "0.4 W/m/K",
    {"W/m/K": 1.0, "W/mK": 1.0, "BTU/h/ft/degF": _BTU_H_W / _DELTA_F_K / FOOT_M},
)  # fmt: skip
FILM: Final = Quantity(
    "a heat transfer coefficient", "20 W/m2/K",
    {"W/m2/K": 1.0, "W/m2K": 1.0, "BTU/h/ft2/degF": _BTU_H_W / _DELTA_F_K / FOOT_M**2},
)  # fmt: skip
FLOW_COEFFICIENT: Final = Quantity(
    "a valve's flow coefficient", "1.6 Kv", {"Kv": 1.0, "m3/h": 1.0, "Cv": KV_PER_CV}
)
PULSES: Final = Quantity(
    "pulses for a volume", "345 pulses/L",
    {"pulses/L": 1.0, "pulse/L": 1.0, "1/L": 1.0, "/L": 1.0, "pulses/gal": 1 / US_GALLON_L},
)  # fmt: skip
OHMS: Final = Quantity(
    "a resistance", "2500 ohm",
    {"ohm": 1.0, "ohms": 1.0, "Ω": 1.0, "kohm": 1000.0, "kΩ": 1000.0},
)  # fmt: skip
SHARE: Final = Quantity("a share", "20 %", {"": 1.0, "%": 0.01}, bare=True)
RATIO: Final = Quantity("a plain number", "1.5", {"": 1.0}, bare=True)
COUNT: Final = Quantity("a whole number", "2", {"": 1.0}, bare=True, whole=True)

Celsius = Annotated[float, CELSIUS]
Kelvin = Annotated[float, KELVIN]
Metres = Annotated[float, METRES]
Millimetres = Annotated[float, MILLIMETRES]
SquareMetres = Annotated[float, SQUARE_METRES]
CubicMetres = Annotated[float, CUBIC_METRES]
SquareMillimetres = Annotated[float, SQUARE_MILLIMETRES]
Kilograms = Annotated[float, KILOGRAMS]
Litres = Annotated[float, LITRES]
LitresPerMinute = Annotated[float, LITRES_PER_MINUTE]
Kilowatts = Annotated[float, KILOWATTS]
Kilopascals = Annotated[float, KILOPASCALS]
Seconds = Annotated[float, SECONDS]
Minutes = Annotated[float, MINUTES]
Volts = Annotated[float, VOLTS]
Amperes = Annotated[float, AMPERES]
AmpereHours = Annotated[float, AMPERE_HOURS]
WattsPerKelvin = Annotated[float, WATTS_PER_KELVIN]
HeatCapacity = Annotated[float, HEAT_CAPACITY]
HeatCapacityPerMetre = Annotated[float, HEAT_CAPACITY_PER_METRE]
WattsPerMetreKelvin = Annotated[float, CONDUCTIVITY]
WattsPerSquareMetreKelvin = Annotated[float, FILM]
FlowCoefficient = Annotated[float, FLOW_COEFFICIENT]
PulsesPerLitre = Annotated[float, PULSES]
Share = Annotated[float, SHARE]
Ratio = Annotated[float, RATIO]
Count = Annotated[int, COUNT]


@dataclass(frozen=True)
class _Shown:
    """How one unit word of our attribute names is shown to people."""

    si: str
    digits: int
    us: str = ""
    factor: float = 1.0
    offset: float = 0.0
    us_digits: int | None = None
    si_factor: float = 1.0


_SHOWN: Final[dict[str, _Shown]] = {
    "c": _Shown("°C", 1, "°F", 1.8, 32.0),
    "k": _Shown("K", 1, "F°", 1.8),
    "k_s": _Shown("K/s", 2, "F°/s", 1.8),
    "lpm": _Shown("L/min", 2, "gpm", 1 / US_GALLON_L),
    "kw": _Shown("kW", 1, "kBTU/h", 1 / _BTU_H_W),
    "w": _Shown("kW", 2, "kBTU/h", 1 / _BTU_H_W / 1000, us_digits=1, si_factor=0.001),
    "w_k": _Shown("W/K", 0, "BTU/h/F°", _DELTA_F_K / _BTU_H_W),
    "w_per_lpm_k": _Shown("W/(L/min)/K", 1, "BTU/h/gpm/F°", US_GALLON_L * _DELTA_F_K / _BTU_H_W),
    "j_k": _Shown("kJ/K", 2, "BTU/F°", _DELTA_F_K / BTU_J, si_factor=0.001),
    "kj_k": _Shown("kJ/K", 1, "BTU/F°", 1000 * _DELTA_F_K / BTU_J),
    "kg": _Shown("kg", 2, "lb", 1 / POUND_KG),
    "m": _Shown("m", 1, "ft", 1 / FOOT_M),
    "mm": _Shown("mm", 1, "in", 1 / INCH_MM, us_digits=3),
    "l": _Shown("L", 2, "gal", 1 / US_GALLON_L),
    "kpa": _Shown("kPa", 1, "psi", 1 / PSI_KPA, us_digits=2),
    "j_kg": _Shown("MJ/kg", 1, "BTU/lb", POUND_KG / BTU_J, us_digits=0, si_factor=1e-6),
    "kg_h": _Shown("kg/h", 1, "lb/h", 1 / POUND_KG),
    "m3_h": _Shown("m3/h", 0, "ft3/h", 1 / FOOT_M**3),
    "s": _Shown("s", 1),
    "min": _Shown("min", 0),
    "h": _Shown("h", 1),
    "v": _Shown("V", 1),
    "a": _Shown("A", 1),
    "ah": _Shown("Ah", 0),
    "per_l": _Shown("pulses/L", 1, "pulses/gal", US_GALLON_L, us_digits=0),
    "ohm": _Shown("ohm", 0),
    "": _Shown("", 3),
}


def convert(value: float, unit: str, system: System) -> tuple[float, str]:
    """The number and the unit in which a person of that system reads it.

    `unit` is the last word of an attribute's name: "c", "k", "lpm", "kw", "w_k", ...
    Raises KeyError for a word that is not in the table.
    """
    shown = _SHOWN[unit]
    if system == "us" and shown.us:
        return value * shown.factor + shown.offset, shown.us
    return value * shown.si_factor, shown.si


def show(value: float, unit: str, system: System) -> str:
    """The number for a person, "61.5 °C" or "142.7 °F"; words where it is not a number."""
    if math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "no limit"
    number, word = convert(value, unit, system)
    shown = _SHOWN[unit]
    in_us = system == "us" and shown.us_digits is not None
    digits = shown.us_digits if in_us and shown.us_digits is not None else shown.digits
    return f"{number:.{digits}f} {word}".strip()
