"""Readings typed at a prompt: each line kept in a table at once, so that nothing gets lost."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TextIO

from coilward.loop.errors import Fault, InputRefused
from coilward.loop.units import split
from coilward.measuring.readings import Column, Reading

Ask = Callable[[str], str]
Fill = Callable[[dict[str, str], Ask], str]
"""Gives the text of a column from what was typed of its line so far; empty: ask for it."""


def _ask(words: str) -> str:
    """A line of standard input; the question goes to standard error, so that output stays clean."""
    sys.stderr.write(words)
    sys.stderr.flush()
    return input()


def kept_name(instrument: str, today: date) -> Path:
    """A new table in this folder for what is typed today."""
    stem = f"coilward-{instrument}-{today}"
    names = (f"{stem}{f'-{number}' if number > 1 else ''}.csv" for number in range(1, 1000))
    return next(path for path in map(Path, names) if not path.exists())


def typed_readings(
    columns: Sequence[Column], keep: Path, ask: Ask = _ask, fills: Mapping[str, Fill] | None = None
) -> Iterator[Reading]:
    """Readings as a person types them, until an empty line; ``fills`` gives what is not typed.

    Every line is put into `keep` as it is finished; Ctrl-C keeps the unfinished one there too, as a
    comment. A unit that was typed once holds for the lines after it.

    Raises InputRefused where the table can't be kept.
    """
    try:
        with keep.open("x", encoding="utf-8") as table:
            _explain(columns, keep)
            table.write(", ".join(column.name for column in columns) + "\n")
            yield from _lines(columns, table, ask, fills or {})
    except OSError as error:
        wanted = "a folder that can be written to, or a table in a file"
        reason = f"what is typed can't be kept ({error.strerror})"
        raise InputRefused([Fault(str(keep), None, "", "", reason, wanted)]) from None


def _lines(
    columns: Sequence[Column], table: TextIO, ask: Ask, fills: Mapping[str, Fill]
) -> Iterator[Reading]:
    units: dict[str, str] = {}
    for number in range(1, 10_000):
        typed: dict[str, str] = {}
        try:
            finished = _line(number, columns, typed, units, ask, fills)
        except (KeyboardInterrupt, EOFError) as stopped:
            if typed:
                _keep(table, columns, typed, "# not finished: ")
            if isinstance(stopped, EOFError):
                return
            raise
        if not finished:
            return
        _keep(table, columns, typed)
        values = {
            column.name: column.parse(typed[column.name])
            for column in columns
            if typed.get(column.name)
        }
        yield Reading(values, table.name, number + 1, typed)


def _line(
    number: int, columns: Sequence[Column], typed: dict[str, str], units: dict[str, str], ask: Ask,
    fills: Mapping[str, Fill],
) -> bool:  # fmt: skip
    """One reading into `typed`; False where nothing was typed at its first question."""
    for column in columns:
        fill = fills.get(column.name)
        while True:
            unit = units.get(column.name, "")
            hint = f", {unit}" if unit else ""
            text = fill(typed, ask) if fill else ""
            if text:
                sys.stderr.write(f"{number}  {column.name}: {text}\n")
            elif fill is None or (column.needed and column is not columns[0]):
                text = ask(f"{number}  {column.name}{hint}: ").strip()
            fill = None
            if not text and column is columns[0]:
                return False
            if not text and not column.needed:
                break
            if column.quantity and unit and text and not split(text)[1]:
                text = f"{text} {unit}"
            try:
                if "," in text or "#" in text:
                    raise ValueError("no comma and no # here")
                column.parse(text)
            except ValueError as error:
                sys.stderr.write(f"   {error}. Accepted: {column.accepted}.\n")
                continue
            typed[column.name] = text
            if column.quantity:
                units[column.name] = split(text)[1]
            break
    return True


def _explain(columns: Sequence[Column], keep: Path) -> None:
    sys.stderr.write(f"Each line is kept in {keep}. An empty line ends, Ctrl-C stops.\n")
    for column in columns:
        left = "" if column.needed else " (may be left empty)"
        sys.stderr.write(f"   {column.name}: {column.about}{left}. {column.accepted}.\n")


def _keep(
    table: TextIO, columns: Sequence[Column], typed: dict[str, str], before: str = ""
) -> None:
    table.write(before + ", ".join(typed.get(column.name, "") for column in columns) + "\n")
    table.flush()
