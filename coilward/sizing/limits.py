"""Limits and trips that follow from the loop, and the flow that they ask for."""

from __future__ import annotations

import math
from collections.abc import Iterator

from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.states import RESERVE
from coilward.loop.units import System
from coilward.sizing.row import Row

LIMITS, FLOW = "Limits and trips", "Flow"


def limit_rows(_: Loop, derived: Derived, __: System) -> Iterator[Row]:
    """Boiling, allowed temperature and every derived trip."""
    for key, name, value in (
        ("boil_c", "boiling in the coil", derived.coil_boil_c),
        ("allow_c", "allowed outlet", derived.allow_c),
        ("outlet_warn_c", "outlet warning", derived.outlet_warn_c),
        ("outlet_dump_c", "outlet dump trip", derived.outlet_dump_c),
        ("outlet_hh_c", "outlet high-high", derived.outlet_hh_c),
        ("tank_warn_c", "tank warning", derived.tank_warn_c),
        ("tank_trip_c", "tank trip", derived.tank_trip_c),
        ("tank_hh_c", "tank high-high", derived.tank_hh_c),
        ("tank_finish_c", "tub finished", derived.tank_finish_c),
    ):
        if math.isfinite(value):
            yield Row(key, LIMITS, name, value, "c", "more")


def flow_rows(_: Loop, derived: Derived, __: System) -> Iterator[Row]:
    """Flow that is there, and flow that is needed."""
    yield Row("flow_open_lpm", FLOW, "flow, valve open", derived.flow_open_lpm, "lpm", "more")
    yield Row("flow_stop_lpm", FLOW, "flow at the valve's stop", derived.flow_stop_lpm, "lpm")
    for fire, least_lpm in (
        ("nominal", derived.flow_min_nominal_lpm), ("largest", derived.flow_min_largest_lpm),
    ):  # fmt: skip
        yield Row(
            f"flow_min_{fire}_lpm", FLOW, f"minimum flow, {fire} fire", least_lpm, "lpm", "less",
            f"a quarter more heat; the valve keeps {RESERVE:g} x",
        )
    yield Row(
        "window_s", FLOW, "pump may restart within", derived.window_largest_s, "s", "more",
        "half the time to boil, a quarter more heat",
    )
