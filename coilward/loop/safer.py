"""Which side of each limit is the safe one: one table, read wherever two loops are compared.

A person may type a limit only on its safe side, and a file may not be rewritten so that a limit
moves to its unsafe one without a word about it. Lower is safer for every temperature, and for
every time that runs before something is done; higher is safer for flows that must not be
undercut. A window around a current gets less safe as it gets wider.

The outlet's slope limit is not in the table: it is the most that healthy water can do, and rises
with the largest fire. To own up to a larger fire is to the safe side.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Final, Literal, NamedTuple

from coilward.loop.derived import Derived, derive
from coilward.loop.model import Loop


class Bound(NamedTuple):
    """One limit: what it is called, where it is found, which side of it is safer."""

    words: str
    unit: str
    """Unit word of `coilward.loop.units.show`."""
    safer: Literal["lower", "higher"]
    value: Callable[[Loop, Derived], float]
    typed: str | None = None
    """Attribute of `Limits` with which a person may move it; carries the same unit."""


BOUNDS: Final[tuple[Bound, ...]] = (
    Bound("allowed outlet", "c", "lower", lambda _, d: d.allow_c, "allowed_c"),
    Bound("set-point", "c", "lower", lambda _, d: d.set_point_c, "set_point_c"),
    Bound("outlet warning", "c", "lower", lambda _, d: d.outlet_warn_c, "outlet_warn_c"),
    Bound("outlet dump", "c", "lower", lambda _, d: d.outlet_dump_c, "outlet_dump_c"),
    Bound("outlet high-high", "c", "lower", lambda _, d: d.outlet_hh_c, "outlet_high_high_c"),
    Bound("tank warning", "c", "lower", lambda _, d: d.tank_warn_c, "tank_warn_c"),
    Bound("tank trip", "c", "lower", lambda _, d: d.tank_trip_c, "tank_trip_c"),
    Bound("tank high-high", "c", "lower", lambda _, d: d.tank_hh_c, "tank_high_high_c"),
    Bound("tub finished", "c", "lower", lambda _, d: d.tank_finish_c),
    Bound("metal high", "c", "lower", lambda _, d: d.metal_high_c),
    Bound("metal dry", "c", "lower", lambda _, d: d.metal_dry_c),
    Bound("least flow", "lpm", "higher", lambda _, d: d.flow_least_lpm, "least_flow_lpm"),
    Bound("minimum flow, nominal fire", "lpm", "higher", lambda _, d: d.flow_min_nominal_lpm),
    Bound("minimum flow, largest fire", "lpm", "higher", lambda _, d: d.flow_min_largest_lpm),
    Bound("minimum flow, throttled", "lpm", "higher", lambda _, d: d.flow_min_throttled_lpm),
    Bound("flow at the stop", "lpm", "higher", lambda _, d: d.flow_stop_lpm),
    Bound(
        "refill window", "s", "lower", lambda _, d: d.window_nominal_s, "refill_window_s"
    ),
    Bound("refill window, largest fire", "s", "lower", lambda _, d: d.window_largest_s),
    Bound("pulse time-out", "s", "lower", lambda _, d: d.pulse_timeout_s),
    Bound("low flow debounce", "s", "lower", lambda _, d: d.low_flow_debounce_s),
    Bound("low flow deadline", "s", "lower", lambda _, d: d.low_flow_total_s),
    Bound("pump retries", "", "lower", lambda _, d: float(d.retries)),
    Bound("standing radiator shows itself after", "s", "higher", lambda _, d: d.rule13_s),
    Bound("longest pump rest", "min", "lower", lambda _, d: d.pump_rest_s / 60, "pump_rest_min"),
    Bound("pump current, low", "a", "higher", lambda loop, _: loop.pump.current_low_a),
    Bound("pump current, high", "a", "lower", lambda loop, _: loop.pump.current_high_a),
    Bound("tank level, low", "", "higher", lambda loop, _: loop.tank.low),
    Bound("tank level, low-low", "", "higher", lambda loop, _: loop.tank.low_low),
)  # fmt: skip
"""Every limit of a loop that a change of its file can move."""


class Moved(NamedTuple):
    """A limit that a change moves to its unsafe side; numbers in the unit of the bound."""

    bound: Bound
    before: float
    after: float


def less_safe(before: Loop, after: Loop, today: date) -> list[Moved]:
    """Every limit that is less safe in the second loop than in the first.

    ``today`` decides which passive device counts. A move of less than a millionth is rounding.
    """
    old, new = derive(before, today), derive(after, today)
    pairs = ((each, each.value(before, old), each.value(after, new)) for each in BOUNDS)
    return [Moved(*pair) for pair in pairs if _worse(*pair)]


def _worse(bound: Bound, before: float, after: float) -> bool:
    if before == after:  # two infinite ones have no difference
        return False
    by = after - before if bound.safer == "lower" else before - after
    return by > 1e-6 * max(1.0, min(abs(before), abs(after)))
