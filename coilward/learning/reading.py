"""Reading a log: a CSV with one heading a column, as a board, a logger or a spreadsheet writes it.

Comma, semicolon or tab between cells, a point in the numbers. An empty cell, or "nan", is a
reading that was lost.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import numpy as np

from coilward.learning.columns import CLOCK, Source, plan
from coilward.learning.log import CHANNELS, Log, log_of_rows
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import printable
from coilward.loop.units import SECONDS

LARGEST_BYTES: Final = 100_000_000
LEAST_ROWS: Final = 60
LONGEST_S: Final = 7 * 86400.0
_LOST: Final = ("", "nan", "-", "null", "none", "na", "n/a")
_NUMBER: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_CLOCK: Final = re.compile(r"(\d{1,3}):(\d{2})(?::(\d{2}(?:\.\d+)?))?")
DAY_S: Final = 86400.0


def read_log(name: str, map_name: str | None = None) -> Log:
    """The log of a file.

    Raises InputRefused with the first thing that is wrong: file, line, value, and what would be
    accepted.
    """
    file, text = _text(name)
    lines = text.splitlines()
    header_line = next(k for k, line in enumerate(lines) if line.strip())
    divides = _divider(lines[header_line])
    rows = _rows(file, lines, header_line, divides)
    header = next(rows)[1]
    sources = plan(file, header, map_name)
    table: dict[str, list[float]] = {key: [] for key in sources}
    times: list[float] = []
    numbers: list[int] = []
    first = ""
    for line, cells in rows:
        if len(cells) != len(header):
            raise _refused(file, line, ",".join(cells), f"this row has {len(cells)} cells and the "
                           f"heading {len(header)}", "one cell a column, and a point, never a "
                           "comma, in a number")  # fmt: skip
        at_s = _time(file, line, header, cells, sources["time"], times)
        first = first or cells[sources["time"].place].strip()
        times.append(at_s)
        numbers.append(line)
        for key, source in sources.items():
            if key != "time":
                table[key].append(_value(file, line, header, cells, key, source))
    if len(times) < LEAST_ROWS:
        raise _refused(file, None, f"{len(times)} rows", "this is too short a log",
                       f"at least {LEAST_ROWS} rows, of twenty minutes and more")
    if times[-1] - times[0] > LONGEST_S:
        raise _refused(file, numbers[-1], cells[sources["time"].place],
                       f"the log lasts {(times[-1] - times[0]) / DAY_S:.0f} days",
                       "one burn, of at most 7 days, and the right unit of time")  # fmt: skip
    columns = {key: np.array(values) for key, values in table.items() if key != "time"}
    return log_of_rows(file, times, columns, numbers, first)


def _text(name: str) -> tuple[str, str]:
    file = printable(name, 300) or "(no name)"
    wanted = "a CSV file with a heading, such as time s, tank degC, coil outlet degC, flow L/min"
    path = Path(name)
    try:
        if path.is_dir():
            raise _refused(file, None, "", "this is a directory", wanted)
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise _refused(file, None, "", "there is no such file", wanted) from None
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise _refused(file, None, "", f"the file cannot be read ({reason.lower()})",
                       wanted) from None  # fmt: skip
    if len(raw) > LARGEST_BYTES:
        raise _refused(file, None, "", f"the file is larger than {LARGEST_BYTES // 10**6} MB",
                       "one burn; a row a second for a day is about 10 MB")  # fmt: skip
    if b"\0" in raw:
        raise _refused(file, None, "", "the file is binary, not text", wanted)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _refused(file, line, "", "this is not text in UTF-8", "text saved as UTF-8") from None
    if not text.strip():
        raise _refused(file, None, "", "the file is empty", wanted)
    return file, text


def _divider(header: str) -> str:
    return max(("\t", ";", ","), key=header.count)


def _rows(
    file: str, lines: Sequence[str], first: int, divides: str
) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of every row that is not empty."""
    for number in range(first, len(lines)):
        line = lines[number]
        if line.strip() and not line.startswith("#"):
            try:
                yield number + 1, next(csv.reader([line], delimiter=divides, strict=True))
            except csv.Error as error:
                raise _refused(file, number + 1, line, f"this is not a row ({error})",
                               "cells with one kind of mark between them") from None  # fmt: skip


def _value(
    file: str, line: int, header: Sequence[str], cells: Sequence[str], key: str, source: Source
) -> float:
    if source.place < 0:
        return source.value
    typed = cells[source.place].strip()
    if typed.casefold() in _LOST:
        return 0.0 if key == "wood" else math.nan
    channel = CHANNELS[key]
    head = header[source.place].strip()
    size = channel.quantity.size(source.unit) or (1.0, 0.0)
    value = _number(file, line, head, typed) * size[0] + size[1]
    if not channel.lowest - 1e-9 <= value <= channel.highest + 1e-9:
        low, high = (channel.quantity.spell(edge, source.unit or None)
                     for edge in (channel.lowest, channel.highest))  # fmt: skip
        raise _refused(file, line, typed, f"{channel.words} cannot be {typed} "
                       f"{source.unit}".rstrip(), f"{low} to {high}, and the right unit in the "
                       "heading; an empty cell where nothing was read", key=head)  # fmt: skip
    return value


def _number(file: str, line: int, head: str, typed: str) -> float:
    if not _NUMBER.fullmatch(typed):
        problem = "this number has a comma in it" if "," in typed else "this is not a number"
        raise _refused(file, line, typed, problem, "a number with a point, such as 61.5, or an "
                       "empty cell where nothing was read", key=head)  # fmt: skip
    return float(typed)


def _time(
    file: str, line: int, header: Sequence[str], cells: Sequence[str], source: Source,
    before: Sequence[float],
) -> float:  # fmt: skip
    typed, head = cells[source.place].strip(), header[source.place].strip()
    if source.unit == CLOCK:
        at_s = _clock_s(file, line, head, typed)
        if before and at_s <= before[-1] and ":" in typed and "-" not in typed:
            # A clock without a date starts again at midnight.
            days = math.floor(before[-1] / DAY_S)
            at_s += days * DAY_S
            if at_s < before[-1] - 0.5 * DAY_S:
                at_s += DAY_S
    else:
        size = SECONDS.size(source.unit) or (1.0, 0.0)
        at_s = _number(file, line, head, typed) * size[0]
    if before and not at_s > before[-1]:
        word = "the same time as in the row before" if at_s == before[-1] else "time runs backwards"
        raise _refused(file, line, typed, word, "rows in order of time, each with a time of its "
                       "own", key=head)  # fmt: skip
    return at_s


def _clock_s(file: str, line: int, head: str, typed: str) -> float:
    found = _CLOCK.fullmatch(typed)
    if found:
        return 3600.0 * int(found[1]) + 60.0 * int(found[2]) + float(found[3] or 0.0)
    try:
        at = datetime.fromisoformat(typed)
        return (at if at.tzinfo else at.replace(tzinfo=UTC)).timestamp()
    except ValueError:
        raise _refused(file, line, typed, "this is no time of a clock, and the column has no unit",
                       "22:15:00, 2026-11-25 22:15:00, or a unit in the heading, such as "
                       '"time s"', key=head) from None  # fmt: skip


def _refused(
    file: str, line: int | None, value: str, problem: str, accepted: str, key: str = ""
) -> InputRefused:
    shown = f'"{printable(value, 60)}"' if value else ""
    return InputRefused([Fault(file, line, printable(key, 60), shown, problem, accepted)])
