"""A night as data: what people, weather and faults do, and when.

Nights name no size of a loop: a charge of wood or "nominal" heat fits every loop.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Final, Literal, NamedTuple

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from coilward.loop.document import read_text, text_of
from coilward.loop.fields import nearest
from coilward.loop.model import Loop
from coilward.loop.rules import Broken, Rule
from coilward.loop.units import KILOGRAMS, KILOWATTS, Celsius, Ratio, Seconds, Section, Share, split
from coilward.simulator.faults import FAULTS

Act = Literal[
    "reload", "light", "light-if-allowed", "prepare", "finish", "silence", "reset", "emergency",
    "declare-out", "remote", "hold", "let-go", "weather", "fault",
]  # fmt: skip

MOST_KG: Final = 25.0
"""No hand-fired box of this kind takes more wood at once (common practice, no source)."""
MOST_CHARGES: Final = 5.0
LEAST_KW, MOST_KW = 0.1, 60.0


class Wood(NamedTuple):
    """An amount of wood as it is thrown in."""

    amount: float
    unit: Literal["kg", "charge"]
    """One charge keeps the nominal heat for the loop's charge interval."""


class Heat(NamedTuple):
    """A heat into the coil: one of the loop's own, or a number."""

    name: Literal["nominal", "largest", ""]
    kw: float
    """Counts where `name` is empty."""

    def watts(self, loop: Loop) -> float:
        """The heat in watts for one loop."""
        kw = {"nominal": loop.fire.nominal_kw, "largest": loop.fire.largest_kw}
        return 1000.0 * kw.get(self.name, self.kw)


def _refuse(problem: str) -> PydanticCustomError:
    return PydanticCustomError("quantity", "{problem}", {"problem": problem})


def _wood(value: object) -> Wood:
    if isinstance(value, Wood):
        return value
    number, unit = split(value) if isinstance(value, str) else (None, "")
    if number is not None and unit in ("charge", "charges"):
        wood, most = Wood(number, "charge"), MOST_CHARGES
    else:
        wood, most = Wood(KILOGRAMS.parse(value), "kg"), MOST_KG
    if not 0 < wood.amount <= most:
        raise _refuse(
            f"{wood.amount:.4g} {wood.unit} is not plausible, more than 0 and at most "
            f"{MOST_KG:g} kg ({KILOGRAMS.spell(MOST_KG, 'lb')}) or {MOST_CHARGES:g} charges is"
        )
    return wood


def _heat(value: object) -> Heat:
    if isinstance(value, Heat):
        return value
    if value == "nominal" or value == "largest":
        return Heat("nominal" if value == "nominal" else "largest", 0.0)
    if not isinstance(value, str) or split(value)[0] is None:
        raise _refuse('"nominal", "largest" or a heat with a unit is wanted')
    kw = KILOWATTS.parse(value)
    if not LEAST_KW <= kw <= MOST_KW:
        low, high = (KILOWATTS.spell(edge, split(value)[1]) for edge in (LEAST_KW, MOST_KW))
        raise _refuse(f"this heat is not plausible, {low} to {high} is")
    return Heat("", kw)


class Moment(Section):
    """Something that happens once, at a time counted from the start of the night."""

    at_s: Seconds = Field(alias="at", ge=0, le=172800)
    do: Act
    fault: str | None = None
    """Name of a row in `faults.FAULTS`."""
    for_s: Seconds | None = Field(default=None, alias="for", gt=0, le=172800)
    """A fault clears after this time; without it the fault stays."""
    size: Ratio | None = None
    mass: Annotated[Wood, BeforeValidator(_wood)] | None = None
    moisture: Share = Field(default=0.2, ge=0, le=0.6)
    """Water's share of the wet wood's mass."""
    lively: Ratio = Field(default=1.0, ge=0.3, le=3)
    """How fast the wood burns up, against an ordinary charge."""
    heat: Annotated[Heat, BeforeValidator(_heat)] | None = None
    """Heat into the coil while the damper is open; a fault "fire-larger" multiplies it too."""
    outdoor_c: Celsius | None = Field(default=None, alias="outdoor", ge=-50, le=40)


class Night(Section):
    """One night: where it starts and what happens in it."""

    coilward: Literal[1]
    """Version of the file's format."""
    name: str = Field(min_length=1, max_length=60)
    about: str = Field(default="", max_length=300)
    duration_s: Seconds = Field(alias="duration", ge=60, le=172800)
    start: Literal["cold", "running"] = "cold"
    """Fire out and standby, or settled at the nominal heat."""
    outdoor_c: Celsius | None = Field(default=None, alias="outdoor", ge=-50, le=40)
    """Air outside; without it the loop's design night."""
    moment: list[Moment] = Field(default_factory=list)


_EXTRAS: Final[dict[str, dict[str, str]]] = {
    "reload": {"mass": '"0.5 charge"', "moisture": '"20 %"', "lively": "1.0"},
    "light": {"mass": '"0.5 charge"', "moisture": '"20 %"', "lively": "1.0"},
    "light-if-allowed": {"mass": '"0.5 charge"', "moisture": '"20 %"', "lively": "1.0"},
    "hold": {"heat": '"largest"'},
    "weather": {"outdoor": '"-12 degC"'},
    "fault": {"fault": '"pump-dies"', "for": '"6 s"', "size": "0.4"},
}
"""Keys that each act takes besides `at` and `do`, with an example; the first is needed."""


def _extras(moment: Moment) -> Iterator[Broken]:
    takes = _EXTRAS.get(moment.do, {})
    aliases = {field.alias or name: name for name, field in Moment.model_fields.items()}
    given = [key for key, name in aliases.items() if name in moment.model_fields_set]
    for key in given:
        if key not in ("at", "do", *takes):
            others = ", ".join(("at", "do", *takes))
            yield Broken((key,), f'"{moment.do}" takes no such key', f"only {others} here")
    for key, example in list(takes.items())[:1]:
        if key not in given:
            yield Broken((key,), f'"{moment.do}" needs this key', f"{key} = {example}")


def _fault(moment: Moment) -> Iterator[Broken]:
    if moment.fault is None:
        return
    fault = FAULTS.get(moment.fault)
    if fault is None:
        near = nearest(moment.fault, FAULTS)
        hint = f'; the nearest is "{near}"' if near else ""
        yield Broken(("fault",), f"this fault is not known{hint}", f"one of {', '.join(FAULTS)}")
        return
    if moment.size is None:
        return
    if fault.lowest is None or fault.highest is None:
        yield Broken(("size",), f'the fault "{fault.name}" has no size', "no key size here")
    elif not fault.lowest <= moment.size <= fault.highest:
        yield Broken(
            ("size",),
            f"outside the range of this fault ({fault.size_meaning})",
            f"{fault.lowest:g} to {fault.highest:g}, for example size = {fault.lowest:g}",
        )


def _times(night: Night) -> Iterator[Broken]:
    for number, moment in enumerate(night.moment):
        if moment.at_s > night.duration_s:
            yield Broken(
                ("moment", number, "at"),
                "this is after the end of the night",
                f'at most the duration, for example at = "{night.duration_s / 120:.4g} min"',
            )


_SAMPLE: Final = """
coilward = 1
name = "pump dies"
about = "The pump stops in the middle of a steady fire."
duration = "2 h"
start = "running"
outdoor = "-5 degC"
[[moment]]
at = "30 min"
do = "finish"
fault = "pump-dies"
for = "6 s"
size = 0.4
mass = "0.5 charge"
moisture = "20 %"
lively = 1.0
heat = "largest"
outdoor = "-12 degC"
"""
"""One accepted value a key, for messages."""

NIGHT_RULES: Final = (
    Rule(("moment",), Moment, _extras),
    Rule(("moment",), Moment, _fault),
    Rule((), Night, _times),
)


def night_names() -> list[str]:
    """Names of the shipped nights, in alphabetical order."""
    entries = (entry.name for entry in (files(__package__) / "nights").iterdir())
    return sorted(name.removesuffix(".toml") for name in entries if name.endswith(".toml"))


def night_text(name: str) -> str:
    """The commented file of one shipped night.

    Raises KeyError for a name that is not shipped.
    """
    if name not in night_names():
        raise KeyError(name)
    return (files(__package__) / "nights" / f"{name}.toml").read_text(encoding="utf-8")


def read_night(name_or_path: str | Path) -> Night:
    """The night of a shipped name or of a file, its moments in order of time.

    Raises InputRefused with every fault of the file.
    """
    file, text = text_of(name_or_path, "night", night_names(), night_text)
    night = read_text(text, Night, file=file, sample=_SAMPLE, rules=NIGHT_RULES)
    in_time = sorted(night.moment, key=lambda moment: moment.at_s)
    return night.model_copy(update={"moment": in_time})
