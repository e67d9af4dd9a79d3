"""Limits that a person types: each may only move the derived one to its safer side.

Which side is safer stands in `coilward.loop.safer`. A lower set-point only asks for more flow. The
hose rating is no limit of its own: it is what the builder bought, and can only lower the dump.
"""

from __future__ import annotations

from datetime import date
from typing import Literal, NamedTuple

from coilward.loop.derived import derive
from coilward.loop.model import Limits, Loop
from coilward.loop.safer import BOUNDS


class RefusedLimit(NamedTuple):
    """A typed limit on the unsafe side; numbers in the unit that ends ``field``."""

    key: str
    """As in the file, "limits.tank_trip"."""
    field: str
    typed: float
    derived: float
    safer: Literal["lower", "higher"]
    unit: str


def refused_limits(loop: Loop, today: date) -> list[RefusedLimit]:
    """Typed limits that are less safe than what follows from the rest of the file."""
    refused = []
    for bound in BOUNDS:
        field = bound.typed
        typed = None if field is None else getattr(loop.limits, field)
        if field is None or typed is None:
            continue
        without = loop.model_copy(
            update={"limits": loop.limits.model_copy(update={field: None})}
        )
        derived = bound.value(without, derive(without, today))
        if typed > derived if bound.safer == "lower" else typed < derived:
            key = f"limits.{Limits.model_fields[field].alias}"
            refused.append(RefusedLimit(key, field, typed, derived, bound.safer, bound.unit))
    return refused
