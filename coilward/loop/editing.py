"""Values set in the text of a loop file, and nothing else of it touched.

Comments, order, blank lines, line ends, and the units in which a person typed stay as they are:
a meter typed in pulses per gallon stays in pulses per gallon. `edited` changes the text; writing
it back to its file is `coilward.desk.rewriting`.
"""

from __future__ import annotations

import copy
import difflib
import json
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from coilward.loop.document import read_text
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import Field, field_at
from coilward.loop.model import Loop
from coilward.loop.places import Path, Places, mapped
from coilward.loop.rules import LOOP_RULES
from coilward.loop.shipped import loop_text
from coilward.loop.units import NUMBER, split

Value = float | int | bool | str | date

_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_LINE_REST: Final = re.compile(r"([ \t]*)(#[^\r\n]*)?([ \t]*)(?=\r?\n|\Z)")
_DATE: Final = r"\d{4}-\d\d-\d\d"


@dataclass(frozen=True)
class Change:
    """One value to set in a loop file."""

    key: str
    """Dotted as in the file, list elements counted from 1: "pump.curve.3.head"."""
    value: Value
    """A number in the unit of the model's attribute: kW, degC, L/min, a share from 0 to 1."""
    digits: int = 4
    """Significant digits of a number as it is written."""

    @property
    def path(self) -> Path:
        """The key in parts, list elements counted from 0."""
        parts = self.key.split(".")
        return tuple(int(part) - 1 if part.isdecimal() else part for part in parts)


def edited(text: str, changes: Sequence[Change], *, file: str, note: str = "") -> str:
    """The text with every change made, in their order, and nothing else.

    A number keeps the unit, the blanks and the quotes with which it was typed; a key that is not
    there yet gets a place in its section, between its braces, or in a new section at the end, in
    the unit of its attribute. `note` goes as a comment behind every changed line; an older note
    with the same words and another date gives way to it. `file` is only for messages.

    Raises InputRefused where the result is not a loop file that reads as before but for the
    changes, and where a change has no place in the text.
    """
    result = text
    for change in changes:
        result = _set(result, change, file, note)
    _check(text, result, changes, file)
    return result


def read_edited(text: str, file: str) -> Loop:
    """The loop of an edited text. Raises InputRefused with every fault of it."""
    return read_text(text, Loop, file=file, sample=loop_text("greenhouse"), rules=LOOP_RULES)


def _set(text: str, change: Change, file: str, note: str) -> str:
    where, path = mapped(text), change.path
    field = field_at(Loop, path)
    if field.kind is None or field.section is not None or field.many:
        raise _refused(file, None, change, "a loop file has no such value")
    if path not in where.values:
        return _added(text, where, change, field, file, note)
    start, end = where.values[path]
    old = text[start:end]
    new = _spelled(change, field, old)
    if new == old:
        return text
    last = where.statements[path][1]
    text = text[:start] + new + text[end:]
    return _noted(text, last + len(new) - len(old), note, len(new) - len(old))


def _added(
    text: str, where: Places, change: Change, field: Field, file: str, note: str
) -> str:
    """The text with a key that it did not have."""
    path = change.path
    parents = (path[:size] for size in range(len(path) - 1, -1, -1))
    around = next(each for each in parents if each in where.homes)
    if any(isinstance(part, int) for part in path[len(around) :]):
        raise _refused(file, None, change, "the list in the file has no such element")
    home, value = where.homes[around], _spelled(change, field, None)
    for part in reversed(path[len(around) + 1 :]):
        value = f"{{ {_key(part)} = {value} }}"
    name = ".".join(_key(part) for part in path[len(home) : len(around) + 1])
    if home in where.values:
        start, end = where.values[home]
        inside = text[start + 1 : end - 1]
        at = start + 1 + len(inside.rstrip())
        pair = f", {name} = {value}" if inside.strip() else f" {name} = {value}{' ' * (not inside)}"
        last = where.statements[home][1] + len(pair)
        return _noted(text[:at] + pair + text[at:], last, note, len(pair))
    if not around and len(path) > 1:
        return _new_section(text, change, field, note)
    return _new_line(text, where.ends[home], f"{name} = {value}", note)


def _new_line(text: str, after: int, line: str, note: str) -> str:
    """The text with a line of its own behind the one in which a position lies."""
    at = text.find("\n", after) + 1 or len(text)
    begin = text.rfind("\n", 0, after) + 1
    indent = re.match(r"[ \t]*", text[begin:after])
    line = f"{indent[0] if indent else ''}{line}{f'  # {note}' if note else ''}"
    if after == 0:  # the file begins with a header: the top of the file is before it
        return f"{line}{_line_end(text)}{text}"
    if text[:at].endswith("\n"):
        return f"{text[:at]}{line}{_line_end(text)}{text[at:]}"
    return f"{text}{_line_end(text)}{line}"


def _new_section(text: str, change: Change, field: Field, note: str) -> str:
    *section, key = change.path
    end = _line_end(text)
    header = ".".join(_key(part) for part in section)
    line = f"{_key(key)} = {_spelled(change, field, None)}{f'  # {note}' if note else ''}"
    return f"{text}{'' if text.endswith(chr(10)) else end}{end}[{header}]{end}{line}{end}"


def _line_end(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _key(part: str | int) -> str:
    return part if isinstance(part, str) and _BARE.fullmatch(part) else json.dumps(part)


def _noted(text: str, after: int, note: str, longer: int) -> str:
    """The text with a note behind the statement that ends there.

    A comment that stands there stays, in its column where there is room.
    """
    found = _LINE_REST.match(text, after)
    if found is None:
        return text
    blanks, comment = found[1], found[2] or ""
    if comment and "\t" not in blanks and len(blanks) > 1:
        blanks = " " * max(1, len(blanks) - longer)
    if note:
        words = re.sub(rf"{_DATE}", "\0", note)
        older = re.escape(words).replace(re.escape("\0"), _DATE)
        kept = re.sub(rf"(?:; |# ?){older}(?=\s*$|;)", "", comment).rstrip()
        comment = f"{kept}; {note}" if kept.strip("# ") else f"# {note}"
        blanks = blanks if kept.strip("# ") or found[2] else "  "
    elif not comment:
        return text
    return text[:after] + blanks + comment + text[found.end() :]


def _spelled(change: Change, field: Field, old: str | None) -> str:
    """The value as TOML, in the unit, blanks and quotes of the old one."""
    value, quantity = change.value, field.quantity
    if quantity is None or isinstance(value, bool | str | date):
        if isinstance(value, str):
            return json.dumps(value, ensure_ascii=False)
        return str(value).lower() if isinstance(value, bool) else str(value)
    typed = tomllib.loads(f"value = {old}")["value"] if old else None
    found = NUMBER.search(typed) if isinstance(typed, str) else None
    if not isinstance(typed, str) or found is None or old is None or found[0] not in old:
        number = _number(value, change.digits)
        return number if quantity.bare else f'"{number} {quantity.unit}"'
    unit = typed[found.end() :].strip()
    factor, offset = quantity.size(unit) or (1.0, 0.0)
    return old.replace(found[0], _number((value - offset) / factor, change.digits), 1)


def _number(value: float, digits: int) -> str:
    """So many significant digits, without an exponent where that is readable."""
    short = f"{value:.{digits}g}"
    if "e" not in short or not 1e-5 <= abs(value) < 1e9:
        return short
    return f"{float(short):.12f}".rstrip("0").rstrip(".")


def _check(old: str, new: str, changes: Sequence[Change], file: str) -> None:
    """Refuse a result that differs from the old text in anything but the changes."""
    read_edited(new, file)
    before, after = tomllib.loads(old), tomllib.loads(new)
    expected = copy.deepcopy(before)
    for change in {each.key: each for each in changes}.values():
        if not _is_there(after, change):
            raise _refused(file, None, change, "the value would not have got where it belongs")
        _move(expected, after, change.path)
    where = mapped(old)
    mine = {line for change in changes for line in _lines(old, where, change.path)}
    lines = difflib.SequenceMatcher(None, old.split("\n"), new.split("\n"), autojunk=False)
    touched = {
        line + 1
        for what, first, last, _, _ in lines.get_opcodes()
        for line in range(first, last)
        if what != "equal"
    }
    if expected != after or not touched <= mine:
        raise _refused(
            file, min(touched - mine, default=None), changes[0],
            "other values or lines than the ones meant would have changed",
        )  # fmt: skip


def _is_there(data: Any, change: Change) -> bool:
    """Whether the value reads back as what was asked for, to its digits."""
    quantity = field_at(Loop, change.path).quantity
    for part in change.path:
        data = data[part]
    if quantity is None or isinstance(change.value, bool | str | date):
        return bool(data == change.value)
    unit = split(data)[1] if isinstance(data, str) else ""
    factor, offset = quantity.size(unit) or (1.0, 0.0)
    size = max(abs(change.value), abs(change.value - offset), abs(factor) * 1e-300)
    return abs(quantity.parse(data) - change.value) <= 10.0 ** (1 - change.digits) * size


def _lines(text: str, where: Places, path: Path) -> range:
    """The lines of the statement that a key stands in, or would be put into."""
    while path and path not in where.statements:
        path = path[:-1]
    if not path:
        # A last line without an end gets one when something is put behind it.
        last = text.count("\n") + 1
        return range(last, last + (not text.endswith("\n")))
    start, end = where.statements[path]
    return range(text.count("\n", 0, start) + 1, text.count("\n", 0, end) + 2)


def _move(target: Any, source: Any, path: Path) -> None:
    """Put one value of the source at its place in the target."""
    for part in path[:-1]:
        if isinstance(part, str):
            target.setdefault(part, {})
        target, source = target[part], source[part]
    target[path[-1]] = source[path[-1]]


def _refused(file: str, line: int | None, change: Change, problem: str) -> InputRefused:
    wanted = "a key of the loop file, such as meter.pulses; or change the file by hand"
    return InputRefused([Fault(file, line, change.key, str(change.value), problem, wanted)])
