"""What a key of a model accepts, said to the person who typed something else."""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from coilward.loop.units import Quantity, Section, split

Place = tuple[str | int, ...]

_TWINS: Final = (
    ("kg", "lb"), ("degC", "degF"), ("m", "ft"), ("mm", "in"), ("L", "gal"), ("L/min", "gpm"),
    ("kPa", "psi"), ("kW", "kBTU/h"), ("min", "s"),
)  # fmt: skip
_KINDS: Final = {bool: "true or false", str: "text in quotes", date: "a date without quotes"}
_WRONG_TYPE: Final = {
    "bool_type": "true or false is wanted, without quotes",
    "string_type": "text in quotes is wanted",
    "date_type": "a date is wanted, without quotes",
    "list_type": "a list is wanted",
    "model_type": "a section with its own keys is wanted",
    "too_short": "the list is too short",
    "string_too_short": "the text is empty",
    "string_too_long": "the text is too long",
}


@dataclass(frozen=True)
class Field:
    """One key as the model declares it."""

    kind: object
    """The plain type, with lists and None taken off."""
    quantity: Quantity | None = None
    many: bool = False
    info: FieldInfo | None = None

    @property
    def section(self) -> type[Section] | None:
        """The model of a section, None for a plain value."""
        return self.kind if isinstance(self.kind, type) and issubclass(self.kind, Section) else None

    @property
    def words(self) -> tuple[str, ...]:
        """The words of a choice, empty for anything else."""
        return tuple(map(str, get_args(self.kind))) if get_origin(self.kind) is Literal else ()

    def bound(self, *names: str) -> float | None:
        """The declared limit of any of the given names, "ge", "gt", "le", "lt"."""
        for mark in self.info.metadata if self.info else ():
            for name in names:
                if hasattr(mark, name):
                    return float(getattr(mark, name))
        return None


def field_at(model: type[Section], place: Place) -> Field:
    """The declared key at a place; an empty Field where the model has none."""
    field = Field(kind=model)
    for part in place:
        if isinstance(part, int):
            field = Field(field.kind, field.quantity, info=field.info)
            continue
        infos = {info.alias or name: info for name, info in fields_of(field).items()}
        if part not in infos:
            return Field(kind=None)
        field = _unwrapped(infos[part])
    return field


def fields_of(field: Field) -> dict[str, FieldInfo]:
    """Attribute names and declarations of a section, empty for a plain value."""
    return field.section.model_fields if field.section else {}


def needed_of(field: Field) -> list[str]:
    """The keys that a section can't do without, as they are typed in a file."""
    return [info.alias or name for name, info in fields_of(field).items() if info.is_required()]


def _unwrapped(info: FieldInfo) -> Field:
    kind: Any = info.annotation
    quantity = next((mark for mark in info.metadata if isinstance(mark, Quantity)), None)
    many = False
    while (origin := get_origin(kind)) in (Annotated, Union, UnionType, list):
        if origin is Annotated:
            marks = kind.__metadata__
            quantity = next((mark for mark in marks if isinstance(mark, Quantity)), quantity)
        many = many or origin is list
        kind = next(each for each in get_args(kind) if each is not NoneType)
    return Field(kind, quantity, many, info)


def expected(model: type[Section], place: Place) -> list[str]:
    """The keys that a section may hold, as they are typed in a file."""
    infos = fields_of(field_at(model, place))
    return [info.alias or name for name, info in infos.items()]


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like a mistyped one, None where none is alike."""
    found = difflib.get_close_matches(word.casefold(), list(known), n=1, cutoff=0.6)
    return found[0] if found else None


def typed(value: object) -> str:
    """A value as it would be typed in TOML, at most 60 characters of it."""
    text = "" if value is None else _toml(value)
    return printable(text, 60)


def printable(text: str, most: int) -> str:
    """At most so many letters of a text, none of which can disturb a terminal."""
    text = "".join(letter if letter.isprintable() else "?" for letter in text[: most + 1])
    return text if len(text) <= most else text[: most - 3] + "..."


def _toml(value: object, deep: int = 4) -> str:
    if isinstance(value, dict | list) and not deep:
        return "..."
    if isinstance(value, dict):
        pairs = (f"{key} = {_toml(each, deep - 1)}" for key, each in value.items())
        return "{ " + ", ".join(pairs) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(each, deep - 1) for each in value) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    try:
        return str(value)
    except ValueError:  # a whole number of more digits than Python prints
        return "a number of thousands of digits"


def example(model: type[Section], place: Place, good: Mapping[str, Any]) -> Any:
    """A value that would be accepted: from the good file, else from the declaration."""
    value: Any = good
    for part in place:
        at: Any = part
        if isinstance(part, int) and isinstance(value, list) and part >= len(value):
            at = 0
        try:
            value = value[at]
        except (KeyError, IndexError, TypeError):
            return _declared(field_at(model, place))
    return value


def _declared(field: Field) -> Any:
    if field.section:
        infos = fields_of(field)
        needed = {
            info.alias or name: _declared(_unwrapped(info))
            for name, info in infos.items()
            if info.is_required()
        }
        return [needed] if field.many else needed
    value: Any = field.words[0] if field.words else None
    if field.quantity:
        value = _in_range(field, field.quantity)
    elif field.kind is bool:
        value = True
    elif field.kind is date:
        value = date(2026, 10, 4)
    elif field.kind is str:
        value = "a name"
    return [value] if field.many else value


def _short(value: object) -> str:
    if isinstance(value, dict):
        return "{ ... }"
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return f"[{_toml(value[0])}, ...]"
    return _toml(value)


def _in_range(field: Field, quantity: Quantity) -> str | float:
    number = quantity.parse(quantity.example)
    low, high = field.bound("ge"), field.bound("le")
    number = number if low is None else max(low, number)
    number = number if high is None else min(high, number)
    if quantity.bare:
        return int(number) if quantity.whole else number
    return quantity.spell(number)


def entry(model: type[Section], place: Place, good: Mapping[str, Any]) -> str:
    """A line, or a section on one line, that could be typed at that place."""
    *_, key = place
    value = example(model, place, good)
    if isinstance(value, dict) and isinstance(key, str):
        needed = [name for name in needed_of(field_at(model, place)) if name in value]
        inside = ", ".join(f"{name} = {_short(value[name])}" for name in needed)
        section = ".".join(str(part) for part in place)
        return f"a section [{section}] with {inside}" if inside else f"a section [{section}]"
    field = field_at(model, place)
    if field.many and field.section:
        value = [{name: each[name] for name in needed_of(field) if name in each} for each in value]
    return _toml(value) if isinstance(key, int) else f"{key} = {_short(value)}"


def accepted(model: type[Section], place: Place, good: Mapping[str, Any], value: object) -> str:
    """What the key accepts, in the unit that was typed, and an example."""
    field = field_at(model, place)
    shown = f"for example {entry(model, place, good)}"
    if field.words:
        return f"one of {', '.join(field.words)}; {shown}"
    if field.quantity is None:
        kind = _KINDS.get(field.kind) if isinstance(field.kind, type) else None
        return f"{kind}, {shown}" if kind and not field.many else shown
    limits = _range(field, field.quantity, value)
    units = "" if field.quantity.bare else f" in {field.quantity.units}"
    return f"{field.quantity.words}{units}{limits}; {shown}"


def _range(field: Field, quantity: Quantity, value: object) -> str:
    unit = split(value)[1] if isinstance(value, str) else None
    low, above = field.bound("ge"), field.bound("gt")
    high, under = field.bound("le"), field.bound("lt")
    words = []
    if low is not None:
        words.append(f"at least {quantity.spell(low, unit)}")
    if above is not None:
        words.append(f"more than {quantity.spell(above, unit)}")
    if high is not None:
        words.append(f"at most {quantity.spell(high, unit)}")
    if under is not None:
        words.append(f"less than {quantity.spell(under, unit)}")
    return f", {' and '.join(words)}" if words else ""


def why_refused(error: ErrorDetails, field: Field, value: object) -> str:
    """The problem in plain words, with a guess where a likely slip explains it.

    `value` is what was typed; the error itself knows only the converted number.
    """
    kind = error["type"]
    if kind == "quantity":
        return str(error["ctx"]["problem"])
    if kind in ("greater_than_equal", "greater_than"):
        return "this is too low" + _other_unit(field, value)
    if kind in ("less_than_equal", "less_than"):
        return "this is too high to be plausible" + _other_unit(field, value)
    if kind == "literal_error":
        near = nearest(str(value), field.words)
        return "this word is not known" + (f'; the nearest is "{near}"' if near else "")
    return _WRONG_TYPE.get(kind, error["msg"].casefold())


def _other_unit(field: Field, value: object) -> str:
    """Whether the same number would fit in the unit of the other system."""
    quantity = field.quantity
    if quantity is None or not isinstance(value, str):
        return ""
    number, unit = split(value)
    size = quantity.size(unit)
    if number is None or size is None:
        return ""
    low = field.bound("ge", "gt")
    high = field.bound("le", "lt")
    for pair in _TWINS:
        for here, there in (pair, pair[::-1]):
            other = quantity.size(there)
            if other is None or quantity.size(here) != size:
                continue
            meant = number * other[0] + other[1]
            if (low is None or meant >= low) and (high is None or meant <= high):
                return f', unless "{number:g} {there}" was meant ({quantity.spell(meant)})'
    return ""
