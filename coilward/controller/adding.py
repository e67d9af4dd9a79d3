"""Interlocks added at run time: one row, which carries its own condition.

An added row is in the table like any other: masks, pages, words and rehearsals find it there.
It is meant for trying an idea. Only the interpreter knows it; a row that has proven itself
gets its condition in `causing`. Constants made before a row was added don't count it.
"""

from __future__ import annotations

from typing import Any

from coilward.controller import causing
from coilward.controller import interlocks as table
from coilward.controller.estimating import Estimate
from coilward.controller.interlocks import INDEX, MASKS, ROWS, Row, mask_of
from coilward.controller.sensing import Seen
from coilward.controller.state import Mode
from coilward.controller.types import Readings

MOST_ROWS = 62
"""Masks are whole numbers of 64 bits with a sign, and one is left free."""
BUILT_IN = len(ROWS)
_NONE_ADDED = causing.added_causes


def added() -> tuple[Row, ...]:
    """The rows that were added."""
    return tuple(ROWS[BUILT_IN:])


def signature() -> str:
    """Text that changes with the added rows and with what their conditions do."""
    parts = []
    for row in added():
        condition: Any = row.cause_of
        code = condition.__code__
        parts.append((row._replace(cause_of=None), code.co_code, code.co_consts, code.co_names))
    return repr(parts)


def add(row: Row) -> None:
    """Add a row at the end of the table.

    Raises ValueError for a name that is taken, a row without a condition, a table that is
    full, or a row outside the dry tier that would stop the pump.
    """
    if row.name in INDEX:
        raise ValueError(f"{row.name} is in the table already")
    if row.cause_of is None:
        raise ValueError(f"{row.name} has no condition: cause_of is wanted")
    if len(ROWS) >= MOST_ROWS:
        raise ValueError(f"the table holds {MOST_ROWS} rows and is full")
    if row.pump == "off" and row.tier != "dry":
        raise ValueError(f"{row.name} stops the pump: only the dry tier may")
    ROWS.append(row)
    _refresh()


def drop(name: str) -> None:
    """Take an added row out again. Raises ValueError for a row that was not added."""
    if INDEX.get(name, -1) < BUILT_IN:
        raise ValueError(f"{name} was not added")
    del ROWS[INDEX[name]]
    _refresh()


def _refresh() -> None:
    INDEX.clear()
    INDEX.update({row.name: index for index, row in enumerate(ROWS)})
    for name in MASKS:
        setattr(table, name, mask_of(name))
    table.EVERY_ROW = (1 << len(ROWS)) - 1
    table.LAST_ROW = len(ROWS) - 1
    conditions = _added_causes if added() else _NONE_ADDED
    setattr(causing, _NONE_ADDED.__name__, conditions)


def _added_causes(readings: Readings, seen: Seen, now: Estimate, mode: Mode) -> int:
    mask = 0
    for index, row in enumerate(added(), BUILT_IN):
        if row.cause_of is not None and row.cause_of(readings, seen, now, mode):
            mask |= 1 << index
    return mask
