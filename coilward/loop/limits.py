"""Limits that a person types: each may only move the derived one to its safer side.

Lower is safer for every temperature, for the refill window and for the pump's rest; higher is
safer for the least flow. A lower set-point only asks for more flow. The hose rating is no limit of
its own: it is what the builder bought, and can only lower the dump.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Literal, NamedTuple

from coilward.loop.derived import Derived, derive
from coilward.loop.model import Limits, Loop


class Rule(NamedTuple):
    """Which derived number a typed limit is held against, and which side is safer."""

    field: str
    derived: Callable[[Derived], float]
    safer: Literal["lower", "higher"]


RULES = (
    Rule("allowed_c", lambda d: d.allow_c, "lower"),
    Rule("set_point_c", lambda d: d.set_point_c, "lower"),
    Rule("outlet_warn_c", lambda d: d.outlet_warn_c, "lower"),
    Rule("outlet_dump_c", lambda d: d.outlet_dump_c, "lower"),
    Rule("outlet_high_high_c", lambda d: d.outlet_hh_c, "lower"),
    Rule("tank_warn_c", lambda d: d.tank_warn_c, "lower"),
    Rule("tank_trip_c", lambda d: d.tank_trip_c, "lower"),
    Rule("tank_high_high_c", lambda d: d.tank_hh_c, "lower"),
    Rule("least_flow_lpm", lambda d: d.flow_least_lpm, "higher"),
    Rule("refill_window_s", lambda d: d.window_nominal_s, "lower"),
    Rule("pump_rest_min", lambda d: d.pump_rest_s / 60, "lower"),
)


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
    for rule in RULES:
        typed = getattr(loop.limits, rule.field)
        if typed is None:
            continue
        without = loop.model_copy(
            update={"limits": loop.limits.model_copy(update={rule.field: None})}
        )
        derived = rule.derived(derive(without, today))
        if typed > derived if rule.safer == "lower" else typed < derived:
            alias = Limits.model_fields[rule.field].alias
            unit = rule.field.rsplit("_", 1)[1]
            refused.append(
                RefusedLimit(f"limits.{alias}", rule.field, typed, derived, rule.safer, unit)
            )
    return refused
