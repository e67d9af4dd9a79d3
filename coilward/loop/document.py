"""Reading loop files: from a name or a path to a checked model, or every fault in one go.

`read_text` serves any file of ours: it parses TOML, checks it against a model, runs the rules
that tie two keys together, and puts a line and an accepted example to every fault.
"""

from __future__ import annotations

import hashlib
import json
import math
import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import (
    accepted,
    entry,
    expected,
    field_at,
    nearest,
    printable,
    typed,
    why_refused,
)
from coilward.loop.model import Loop
from coilward.loop.places import places
from coilward.loop.rules import LOOP_RULES, Rule
from coilward.loop.shipped import loop_names, loop_text
from coilward.loop.units import Section

Model = TypeVar("Model", bound=Section)
Place = tuple[str | int, ...]

VERSION: Final = 1
LARGEST_BYTES: Final = 1_000_000
_PARSER_PLACE: Final = re.compile(r"(.*) \(at (?:line (\d+), column \d+|(end) of document)\)")
_PARSER_WORDS: Final = {"Cannot overwrite a value": "this key was already given above"}


def read_loop(name_or_path: str | Path) -> Loop:
    """The loop of a shipped name or of a file.

    Raises InputRefused with every fault of the file.
    """
    file, text = text_of(name_or_path, "loop", loop_names(), loop_text)
    return read_text(text, Loop, file=file, sample=loop_text("greenhouse"), rules=LOOP_RULES)


def loop_id(loop: Loop) -> str:
    """Twelve hexadecimal digits that change when any number of the loop changes."""
    canonical = json.dumps(loop.model_dump(mode="json"), sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(canonical.encode()).hexdigest()[:12]


def text_of(
    name_or_path: str | Path, kind: str, names: Sequence[str], shipped: Callable[[str], str],
    accepted: str = "",
) -> tuple[str, str]:  # fmt: skip
    """What to call the file in messages, and its text; `accepted` says what kind is wanted.

    Raises InputRefused where there is no such file or name, or where it is not readable text.
    """
    name = str(name_or_path)
    if name in names:
        return f"{name} (shipped {kind})", shipped(name)

    file = printable(name, 300) or "(no name)"

    def refuse(problem: str, wanted: str | None = None) -> InputRefused:
        named = f"a text file in TOML, or one of the shipped names {', '.join(names)}"
        wanted = wanted or accepted or named
        return InputRefused([Fault(file, None, "", "", problem, wanted)])

    path = Path(name)
    try:
        if path.is_dir():
            raise refuse("this is a directory")
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        near = nearest(name, names)
        hint = f'; the nearest shipped name is "{near}"' if near else ""
        shipped_too = f", and no shipped {kind} of that name{hint}" if names else ""
        raise refuse(f"there is no such file{shipped_too}") from None
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise refuse(f"the file cannot be read ({reason.lower()})") from None
    if len(raw) > LARGEST_BYTES:
        raise refuse(f"the file is larger than {LARGEST_BYTES // 1000} kB")
    if b"\0" in raw:
        raise refuse("the file is binary, not text")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise refuse(f"line {line} is not text in UTF-8", "text saved as UTF-8") from None
    if not text.strip():
        raise refuse("the file is empty")
    return file, text


def read_text(
    text: str, model: type[Model], *, file: str, sample: str, rules: Sequence[Rule] = ()
) -> Model:
    """The checked model of a TOML text.

    `sample` is a good text of the same kind, from which examples are taken. Raises
    InputRefused with all faults, ordered by line.
    """
    data = _parse(text, file)
    page = _Page(file, data, _places(text), model, tomllib.loads(sample))
    page.check_kind()
    faults: list[Fault] = []
    result: Model | None = None
    try:
        result = model.model_validate(data, by_alias=True, by_name=False)
    except ValidationError as refused:
        faults += page.from_errors(refused.errors())
    for rule in rules:
        for place, section in _sections(rule, data, result):
            for broken in rule.check(section):
                faults.append(page.fault((*place, *broken.key), broken.problem, broken.accepted))
    if faults or result is None:
        raise InputRefused(sorted(faults, key=lambda each: each.line or math.inf))
    return result


@dataclass(frozen=True)
class _Page:
    """One parsed file, and what is needed to say where and why it is refused."""

    file: str
    data: dict[str, Any]
    lines: Mapping[Place, int]
    model: type[Section]
    good: Mapping[str, Any]

    def fault(self, place: Place, problem: str, wanted: str) -> Fault:
        """A fault with its line, and with the value that the file has there."""
        key = ".".join(str(part + 1) if isinstance(part, int) else part for part in place)
        value = typed(_value(self.data, place)) if place else ""
        return Fault(self.file, self.line(place), key, value, problem, wanted)

    def line(self, place: Place) -> int | None:
        """Line of the key, or of the nearest section around it that is in the file."""
        while place:
            if place in self.lines:
                return self.lines[place]
            place = place[:-1]
        return None

    def check_kind(self) -> None:
        """Refuse another version, or a file of another kind, before its keys make a noise."""
        version = self.data.get("coilward")
        if version != VERSION or isinstance(version, bool):
            known = "the version is missing" if version is None else "this version is not known"
            raise InputRefused([self.fault(("coilward",), known, f"coilward = {VERSION}")])
        own = [key for key in expected(self.model, ()) if key not in ("coilward", "name")]
        if not self.data.keys() & set(own):
            kind = self.model.__name__.casefold()
            problem = f"nothing in it belongs to a {kind} file"
            raise InputRefused([self.fault((), problem, f"a {kind} file, with {', '.join(own)}")])

    def from_errors(self, errors: Sequence[ErrorDetails]) -> Iterator[Fault]:
        """One fault an error; a key that was only mistyped is not also called missing."""
        meant: set[Place] = set()
        for error in errors:
            place: Place = error["loc"]
            if error["type"] == "extra_forbidden":
                known = [
                    key
                    for key in expected(self.model, place[:-1])
                    if _value(self.data, (*place[:-1], key)) is None
                ]
                near = nearest(str(place[-1]), known) or nearest(
                    str(place[-1]), expected(self.model, place[:-1])
                )
                if near:
                    meant.add((*place[:-1], near))
                yield self.unknown(place, near)
        for error in errors:
            place = error["loc"]
            if error["type"] == "missing" and place not in meant:
                part = "section" if field_at(self.model, place).section else "key"
                yield self.fault(
                    place, f"this {part} is missing", entry(self.model, place, self.good)
                )
            elif error["type"] not in ("missing", "extra_forbidden"):
                value = _value(self.data, place)
                yield self.fault(
                    place,
                    why_refused(error, field_at(self.model, place), value),
                    accepted(self.model, place, self.good, value),
                )

    def unknown(self, place: Place, near: str | None) -> Fault:
        """A key that the section does not have, with the key that may have been meant."""
        problem = "this key is not known" + (f'; the nearest is "{near}"' if near else "")
        if near:
            return self.fault(place, problem, entry(self.model, (*place[:-1], near), self.good))
        known = ", ".join(expected(self.model, place[:-1]))
        return self.fault(place, problem, f"one of {known}" if known else "nothing here")


def _parse(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        problem, line, typed_line = "the brackets are nested too deep", None, ""
    except ValueError as error:  # the parser's own error is one
        found = _PARSER_PLACE.fullmatch(str(error))
        words = found[1] if found else str(error)
        line = int(found[2] or text.count("\n") + 1) if found else None
        typed_line = _line_of(text, line) if found and found[2] else ""
        problem = _PARSER_WORDS.get(words, words[:1].lower() + words[1:])
        if found and found[3]:
            problem += "; the file may have been cut short"
    wanted = 'lines such as [site], altitude = "1000 m" and proven = 2026-10-04, each key once'
    fault = Fault(file, line, "", typed_line, f"this is not TOML: {problem}", wanted)
    raise InputRefused([fault])


def _line_of(text: str, line: int | None) -> str:
    return printable(text.split("\n")[line - 1].strip(), 60) if line else ""


def _places(text: str) -> dict[Place, int]:
    try:
        return places(text.replace("\r\n", "\n"))
    except RecursionError:
        return {}


def _sections(
    rule: Rule, data: dict[str, Any], result: Section | None
) -> Iterable[tuple[Place, Any]]:
    """The sections that a rule looks at; those that are faulty by themselves are left out."""
    if not rule.place:
        return [] if result is None else [((), result)]
    found = _value(data, rule.place)
    many = found if isinstance(found, list) else [found]
    usable: list[tuple[Place, Any]] = []
    for number, each in enumerate(many):
        place: Place = (*rule.place, number) if isinstance(found, list) else rule.place
        try:
            usable.append((place, rule.model.model_validate(each, by_alias=True, by_name=False)))
        except ValidationError:
            continue
    return usable


def _value(data: Any, place: Place) -> Any:
    for part in place:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return None
    return data
