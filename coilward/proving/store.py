"""Where finished cases are kept: one SQLite file for one loop, logic, model and seed."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import TracebackType

from coilward.proving.case import parse_case
from coilward.proving.outcome import Outcome, finite, from_json

_TABLE = """
CREATE TABLE IF NOT EXISTS outcome (
    faults TEXT NOT NULL, number INTEGER NOT NULL, fired INTEGER NOT NULL,
    escaped INTEGER NOT NULL, boil_s REAL, caught TEXT NOT NULL, caught_s REAL,
    margin_k REAL, margin_s REAL, line TEXT NOT NULL, PRIMARY KEY (faults, number)
) WITHOUT ROWID
"""
_ADD = "INSERT OR IGNORE INTO outcome VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_OF = "FROM outcome WHERE faults = ? AND number < ?"
_WORST = (
    f"SELECT line {_OF} AND fired = 1 ORDER BY escaped DESC, boil_s IS NULL, "
    "margin_k IS NULL, margin_k, margin_s, number LIMIT 1"
)


class Store:
    """Outcomes by case. What was added stays, also through a kill; nothing is kept twice."""

    def __init__(self, file: Path) -> None:
        """Opens or makes the file, and the folder that it lies in."""
        file.parent.mkdir(parents=True, exist_ok=True)
        self.file = file
        self._db = sqlite3.connect(file)
        self._db.execute("PRAGMA journal_mode=WAL")
        self._db.execute("PRAGMA synchronous=NORMAL")
        with self._db:
            self._db.execute(_TABLE)

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._db.close()

    def add(self, lines: Iterable[str]) -> None:
        """Keep outcomes, each as its line of JSON, all of them or none."""
        with self._db:
            self._db.executemany(_ADD, [_row(line) for line in lines])

    def numbers(self, faults: tuple[str, ...], below: int) -> Iterator[int]:
        """Indices of the cases that are there."""
        for (number,) in self._db.execute(f"SELECT number {_OF}", (_name(faults), below)):
            yield number

    def count(self, faults: tuple[str, ...], below: int, *, where: str = "1") -> int:
        """How many cases fulfil a condition on the columns."""
        query = f"SELECT count(*) {_OF} AND {where}"
        return int(self._db.execute(query, (_name(faults), below)).fetchone()[0])

    def caught(self, faults: tuple[str, ...], below: int) -> dict[str, int]:
        """How often each row told first, in alphabetical order; the empty name counts silence."""
        query = f"SELECT caught, count(*) {_OF} AND fired = 1 GROUP BY caught ORDER BY caught"
        return {name: int(times) for name, times in self._db.execute(query, (_name(faults), below))}

    def median_caught_s(self, faults: tuple[str, ...], below: int) -> float | None:
        """The upper median of the times to the row that told."""
        told = "fired = 1 AND caught_s IS NOT NULL"
        middle = self.count(faults, below, where=told) // 2
        query = f"SELECT caught_s {_OF} AND {told} ORDER BY caught_s LIMIT 1 OFFSET ?"
        found = self._db.execute(query, (_name(faults), below, middle)).fetchone()
        return None if found is None else float(found[0])

    def extreme(self, what: str, faults: tuple[str, ...], below: int) -> float | None:
        """An aggregate such as ``max(caught_s)`` over valid cases; None over none."""
        query = f"SELECT {what} {_OF} AND fired = 1"
        found = self._db.execute(query, (_name(faults), below)).fetchone()[0]
        return None if found is None else float(found)

    def worst(self, faults: tuple[str, ...], below: int) -> Outcome | None:
        """An escape before all others, then a boil, then the smallest margin."""
        found = self._db.execute(_WORST, (_name(faults), below)).fetchone()
        return None if found is None else from_json(found[0])

    def outcomes(self, faults: tuple[str, ...], below: int) -> Iterator[Outcome]:
        """One after the other, in order of the index."""
        query = f"SELECT line {_OF} ORDER BY number"
        for (line,) in self._db.execute(query, (_name(faults), below)):
            yield from_json(line)


def _name(faults: tuple[str, ...]) -> str:
    return "+".join(faults)


def _row(line: str) -> tuple[object, ...]:
    outcome = from_json(line)
    case = parse_case(outcome.key)
    return (
        _name(case.faults), case.index, outcome.fired, outcome.escaped, outcome.first_boil_s,
        outcome.caught, outcome.caught_s, finite(outcome.margin_k), finite(outcome.margin_s), line,
    )  # fmt: skip


