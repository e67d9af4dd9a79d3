"""Readings, one line at a time, from wherever they come: a file, a person, a board.

An instrument asks for columns. Whatever gives lines (`from_csv`, a prompt, a live board) is an
iterator of `Reading`, so that the sums never know where a reading came from. In a CSV file the
first line names the columns with their units, "pulses, mass kg, water degC"; a cell may carry
its own unit. Lines that start with # and empty lines are left out.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from itertools import pairwise
from statistics import median
from typing import Final

from pydantic_core import PydanticCustomError

from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import printable
from coilward.loop.units import Quantity, split

MOST_LINES: Final = 10_000


@dataclass(frozen=True)
class Column:
    """One thing to be read each time."""

    name: str
    about: str
    """What it is, to a person who is asked for it."""
    quantity: Quantity | None = None
    """None for one of the words."""
    words: tuple[str, ...] = ()
    needed: bool = True
    usual: bool = False
    """Not needed, but shown in examples."""
    least: float = -math.inf
    most: float = math.inf
    """Numbers in the quantity's own unit; both ends are accepted."""
    above: float | None = None
    """Where the least number itself is too small."""

    @property
    def accepted(self) -> str:
        """What may be typed, with an example."""
        if self.quantity is None:
            return f"one of {', '.join(self.words)}"
        spell = self.quantity.spell
        ends = []
        if self.above is not None:
            ends.append(f"more than {spell(self.above)}")
        if math.isfinite(self.least):
            ends.append(f"at least {spell(self.least)}")
        if math.isfinite(self.most):
            ends.append(f"at most {spell(self.most)}")
        units = "" if self.quantity.bare else f" in {self.quantity.units}"
        limits = f", {' and '.join(ends)}" if ends else ""
        return f"{self.quantity.words}{units}{limits}; for example {self.quantity.example}"

    def parse(self, typed: str, unit: str = "") -> float | str:
        """The value in the quantity's own unit, or the word.

        `unit` is that of the column, for a cell without one. Raises ValueError with what is wrong.
        """
        typed = typed.strip()
        if self.quantity is None:
            word = " ".join(typed.casefold().replace("-", " ").split())
            if word not in self.words:
                raise ValueError("this word is not known")
            return word
        number, own = split(typed)
        if number is not None and not own and unit:
            typed = f"{typed} {unit}"
        try:
            value = self.quantity.parse(typed)
        except PydanticCustomError as error:
            raise ValueError(error.message()) from None
        if value < self.least or (self.above is not None and value <= self.above):
            raise ValueError("this is too low")
        if value > self.most:
            raise ValueError("this is too high to be plausible")
        return value


@dataclass(frozen=True)
class Reading:
    """One line of readings, and where it came from, for messages."""

    values: dict[str, float | str]
    source: str = "typed"
    line: int | None = None
    typed: dict[str, str] = field(default_factory=dict)

    def number(self, name: str) -> float:
        """A number by its column; NaN where it was not read."""
        value = self.values.get(name, math.nan)
        return value if isinstance(value, float) else math.nan

    def word(self, name: str) -> str:
        """A word by its column; empty where there is none."""
        value = self.values.get(name, "")
        return value if isinstance(value, str) else ""

    def fault(self, name: str, problem: str, accepted: str) -> Fault:
        """A fault of this reading."""
        return Fault(self.source, self.line, name, self.typed.get(name, ""), problem, accepted)


def from_csv(text: str, columns: Sequence[Column], file: str) -> Iterator[Reading]:
    """The readings of a CSV text.

    Raises InputRefused with every fault, each with its line, before the first reading is given.
    """
    lines = [
        (number, line)
        for number, line in enumerate(text.split("\n"), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(lines) > MOST_LINES:
        raise _refused(file, None, "", "", f"there are more than {MOST_LINES} lines", "a table")
    if len(lines) < 2:
        example = f"a first line such as {header(columns)}, then a line for each reading"
        raise _refused(file, None, "", "", "there is no reading in it", example)
    try:
        cells = list(csv.reader((line for _, line in lines), skipinitialspace=True, strict=True))
    except csv.Error as error:
        raise _refused(file, None, "", "", f"this is not CSV: {error}", header(columns)) from None
    heads = _heads(cells[0], lines[0][0], columns, file)
    faults: list[Fault] = []
    readings = []
    for (number, _), row in zip(lines[1:], cells[1:], strict=True):
        if len(row) > len(heads):
            told = f"as many cells as the first line has, {len(heads)}"
            faults.append(Fault(file, number, "", ",".join(row), "there are too many cells", told))
            continue
        readings.append(_reading(row, heads, file, number, columns, faults))
    if faults:
        raise InputRefused(faults)
    return iter(readings)


def header(columns: Sequence[Column]) -> str:
    """A first line that would be accepted."""
    return ", ".join(
        f"{each.name} {each.quantity.unit}".strip() if each.quantity else each.name
        for each in columns
        if each.needed or each.usual
    )


def _heads(
    cells: Sequence[str], line: int, columns: Sequence[Column], file: str
) -> list[tuple[Column, str]]:
    """The columns of the file in their order, each with its unit."""
    known = {each.name: each for each in columns}
    heads: list[tuple[Column, str]] = []
    faults: list[Fault] = []
    example = f"a first line such as {header(columns)}"
    for cell in cells:
        text = " ".join(cell.replace("(", " ").replace(")", " ").split())
        name = next((each for each in known if text.casefold().startswith(each)), "")
        unit = text[len(name) :].strip()
        column = known.get(name)
        shown = printable(cell.strip(), 60)
        if column is None:
            near = get_close_matches(text.casefold().split(" ")[0], list(known), 1, 0.5)
            hint = f'; the nearest is "{near[0]}"' if near else ""
            wanted = f"one of {', '.join(known)}; {example}"
            faults.append(Fault(file, line, "", shown, f"no such column is known{hint}", wanted))
            continue
        quantity = column.quantity
        if quantity and unit and quantity.size(unit) is None:
            problem = f'"{unit}" is not a unit of {quantity.words}'
            wanted = f"one of {quantity.units}; {example}"
            faults.append(Fault(file, line, "", shown, problem, wanted))
        if column.name in [each.name for each, _ in heads]:
            faults.append(
                Fault(file, line, "", shown, "this column is there twice", "each column once")
            )
        heads.append((column, unit))
    if not heads:
        shown = printable(",".join(cells), 60)
        raise _refused(file, line, "", shown, "the first line names no column", example)
    there = [each.name for each, _ in heads]
    for each in columns:
        if each.needed and each.name not in there:
            faults.append(
                Fault(file, line, "", "", f"the column {each.name} ({each.about}) is missing",
                      example)
            )  # fmt: skip
    if faults:
        raise InputRefused(faults)
    return heads


def _reading(
    row: Sequence[str], heads: Sequence[tuple[Column, str]], file: str, line: int,
    columns: Sequence[Column], faults: list[Fault],
) -> Reading:  # fmt: skip
    values: dict[str, float | str] = {}
    typed: dict[str, str] = {}
    for (column, unit), cell in zip(heads, row, strict=False):
        if not cell.strip():
            continue
        own = split(cell)[1] if column.quantity else ""
        typed[column.name] = printable(f"{cell.strip()} {'' if own else unit}".strip(), 60)
        try:
            values[column.name] = column.parse(cell, unit)
        except ValueError as error:
            faults.append(
                Fault(file, line, column.name, printable(cell.strip(), 60), str(error),
                      column.accepted)
            )  # fmt: skip
    for column in columns:
        if column.needed and column.name not in typed:
            faults.append(
                Fault(file, line, column.name, "", "there is nothing here", column.accepted)
            )
    return Reading(values, file, line, typed)


def odd_ones(values: Sequence[float]) -> list[float]:
    """Each value over the median of all; 1 where there are too few to tell which is odd."""
    return [value / median(values) if len(values) > 2 else 1.0 for value in values]


def grouped(values: Sequence[float], apart: float) -> list[list[int]]:
    """Which values belong together: a group ends where the next is so much (a share) larger.

    Gives the indices of each group, smallest values first.
    """
    order = sorted(range(len(values)), key=lambda index: values[index])
    groups = [[order[0]]] if order else []
    for before, after in pairwise(order):
        if values[after] > values[before] * (1 + apart):
            groups.append([])
        groups[-1].append(after)
    return groups


def _refused(file: str, line: int | None, key: str, value: str, problem: str, accepted: str
             ) -> InputRefused:  # fmt: skip
    return InputRefused([Fault(file, line, key, value, problem, accepted)])
