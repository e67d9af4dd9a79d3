"""Which column of a log is which channel, in which unit: from a map, or from the header."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final, Literal, NamedTuple

from pydantic import Field

from coilward.learning.log import CHANNELS
from coilward.loop.document import read_text, text_of
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import nearest, printable
from coilward.loop.units import SECONDS, Section

CLOCK: Final = "clock"
TIME_UNITS: Final = f"{SECONDS.units} or clock (22:15:00, or a date before it)"


class Named(Section):
    """One column of the log."""

    column: str = Field(min_length=1)
    unit: str


class Always(Section):
    """A value that stayed the same all the time."""

    always: str


class Columns(Section):
    """A column map, as a file."""

    coilward: Literal[1]
    """Version of the file's format."""
    time: Named
    coil_outlet: Named | None = None
    radiator_inlet: Named | None = None
    radiator_outlet: Named | None = None
    tank: Named | None = None
    room: Named | Always | None = None
    outdoor: Named | Always | None = None
    flow: Named | None = None
    fans: Named | Always | None = None
    damper: Named | Always | None = None
    dump: Named | Always | None = None
    wood: Named | None = None
    moisture: Named | Always | None = None


SAMPLE: Final = """
coilward = 1
time = { column = "t", unit = "s" }
coil_outlet = { column = "T coil", unit = "degF" }
radiator_inlet = { column = "T rad in", unit = "degF" }
radiator_outlet = { column = "T rad out", unit = "degF" }
tank = { column = "T tank", unit = "degF" }
room = { always = "15 degC" }
outdoor = { always = "-8 degC" }
flow = { column = "meter", unit = "gpm" }
fans = { always = "100 %" }
damper = { column = "damper", unit = "%" }
dump = { always = "0 %" }
wood = { column = "wood", unit = "lb" }
moisture = { always = "20 %" }
"""


class Source(NamedTuple):
    """Where a channel's numbers come from: a place in the row with a unit, or one value."""

    place: int
    """Of the column, from 0; -1 where `value` holds for every row."""
    unit: str
    value: float = float("nan")


_NAMES: Final = {
    "time": ("time", "t", "date", "clock", "timestamp", "elapsed", "date time"),
    "coil_outlet": ("coil outlet", "coil out", "coil outlet seen", "outlet"),
    "radiator_inlet": ("radiator inlet", "radiator in", "rad in", "rad inlet"),
    "radiator_outlet": ("radiator outlet", "radiator out", "rad out", "rad outlet"),
    "tank": ("tank", "tank seen", "tank bottom", "suction"),
    "room": ("room", "room air", "greenhouse", "boathouse", "indoors", "inside"),
    "outdoor": ("outdoor", "outdoors", "outside", "outdoor air"),
    "flow": ("flow", "flow seen", "water flow"),
    "fans": ("fans", "fan", "fans cmd"),
    "damper": ("damper", "damper cmd"),
    "dump": ("dump", "dump cmd", "dump valve"),
    "wood": ("wood", "wood added", "load"),
    "moisture": ("moisture", "wood moisture"),
}
"""How people head their columns, in plain small letters without the unit."""


def plan(file: str, header: Sequence[str], map_name: str | None) -> dict[str, Source]:
    """The source of every channel and of the time.

    Raises InputRefused for a bad map, a column that is not there, and for every doubt.
    """
    if map_name is None:
        return _guessed(file, header)
    return _mapped(file, header, map_name)


def _mapped(file: str, header: Sequence[str], map_name: str) -> dict[str, Source]:
    name, text = text_of(Path(map_name), "column map", [], lambda _: "")
    wanted = read_text(text, Columns, file=name, sample=SAMPLE)
    found, faults = {}, []
    for key in Columns.model_fields:
        entry = getattr(wanted, key)
        if entry is None or key == "coilward":
            continue
        if isinstance(entry, Always):
            try:
                found[key] = Source(-1, "", CHANNELS[key].quantity.parse(entry.always))
            except ValueError as refused:
                faults.append(Fault(name, None, key, f'"{entry.always}"', _words(refused),
                                    f'such as "{CHANNELS[key].quantity.example}"'))  # fmt: skip
            continue
        places = [k for k, head in enumerate(header) if head.strip() == entry.column.strip()]
        if len(places) != 1:
            near = nearest(entry.column, [head.strip() for head in header])
            problem = "two columns have this name" if places else f"{file} has no such column" + (
                f'; the nearest is "{near}"' if near else ""
            )
            faults.append(Fault(name, None, key, f'"{entry.column}"', problem,
                                f"one of {_heads(header)}"))  # fmt: skip
        elif problem := _no_unit(key, entry.unit):
            faults.append(Fault(name, None, key, f'"{entry.unit}"', problem, _units(key)))
        else:
            found[key] = Source(places[0], entry.unit)
    if faults:
        raise InputRefused(faults)
    return found


def _guessed(file: str, header: Sequence[str]) -> dict[str, Source]:
    found: dict[str, Source] = {}
    faults = []
    for place, head in enumerate(header):
        key, unit = recognised(head)
        if key is None:
            continue
        shown = f'"{printable(head, 60)}"'
        if key in found:
            other = printable(header[found[key].place], 60)
            faults.append(Fault(file, 1, "", shown, f'this may be the {key}, and so may "{other}"',
                                "one of the two, or a map of the columns (--columns)"))  # fmt: skip
        elif unit is None and key not in ("time", "fans", "damper", "dump", "moisture"):
            faults.append(Fault(file, 1, "", shown, "this column has no unit",
                                f"the unit after the name, such as "
                                f'"{_example(key)}", or a map (--columns)'))  # fmt: skip
        else:
            found[key] = Source(place, CLOCK if unit is None and key == "time" else unit or "")
    if faults:
        raise InputRefused(faults)
    if "time" not in found:
        raise InputRefused([Fault(file, 1, "", f'"{printable(", ".join(header), 80)}"',
                                  "there is no column of the time",
                                  'a first line with names and units, such as "time s, '
                                  'tank degC, flow L/min", or a map (--columns)')])  # fmt: skip
    return found


def recognised(head: str) -> tuple[str | None, str | None]:
    """The channel that a heading names, and the unit in it; None for what it doesn't tell."""
    plain = re.sub(r"[_\[\](),;:]+", " ", head).strip()
    words = plain.split()
    for cut in range(len(words), 0, -1):
        name, unit = " ".join(words[:cut]).casefold(), " ".join(words[cut:])
        for key, names in _NAMES.items():
            if name not in names:
                continue
            if not unit:
                return key, None
            spelled = _spelled(key, unit)
            if spelled is not None:
                return key, spelled
    return None, None


def _spelled(key: str, unit: str) -> str | None:
    """The unit as the quantity knows it; None where it is none of this channel."""
    meant = {"pct": "%", "percent": "%", "share": ""}.get(unit.casefold(), unit)
    return None if _no_unit(key, meant) else meant


def _no_unit(key: str, unit: str) -> str:
    """Why a unit can't be one of this channel; empty where it can."""
    if key == "time":
        return "" if unit == CLOCK or SECONDS.size(unit) else "this is not a unit of time"
    quantity = CHANNELS[key].quantity
    return "" if quantity.size(unit) else f"this is not a unit of {quantity.words}"


def _units(key: str) -> str:
    return TIME_UNITS if key == "time" else f"one of {CHANNELS[key].quantity.units}"


def _example(key: str) -> str:
    return f"{key.replace('_', ' ')} {CHANNELS[key].quantity.unit}"


def _heads(header: Sequence[str]) -> str:
    return ", ".join(printable(head.strip(), 40) for head in header[:30])


def _words(refused: ValueError) -> str:
    return str(refused)
