"""How long the loop's outdoor lines stay open with the pump at rest."""

from __future__ import annotations

import math
from typing import NamedTuple

from coilward.loop.hydraulics import all_lines
from coilward.loop.model import Line, Loop
from coilward.loop.sums import freeze
from coilward.loop.sums.settle import Settled
from coilward.loop.trips import safer_low

GUARD_START_C = 10.0
"""The freeze guard's pump has just filled the line with tank water of about this temperature."""


class LineFreeze(NamedTuple):
    """Seconds to 0 degC of the standing water in one outdoor line."""

    line: str
    running_s: float
    """From its temperature at the nominal fire."""
    cool_s: float
    """From 10 degC."""


def line_cool_s(line: Line, start_c: float, air_c: float) -> float:
    """Time in which standing water in a line cools to 0 degC, s."""
    resistance_mk_w = freeze.resistance_mk_w(
        line.inside_diameter_mm,
        line.outside_diameter_mm,
        line.wall_w_mk,
        line.insulation_mm,
        line.insulation_w_mk,
        line.wind_w_m2k,
    )
    heat_j_mk = freeze.heat_j_mk(line.inside_diameter_mm, line.wall_kj_mk)
    return freeze.cool_to_zero_s(resistance_mk_w, heat_j_mk, start_c, air_c)


def line_freezes(loop: Loop, nominal: Settled) -> tuple[LineFreeze, ...]:
    """Freeze times of every outdoor line on the design night."""
    running = (nominal.tank_c, nominal.outlet_c, nominal.tank_c)
    return tuple(
        LineFreeze(
            name,
            line_cool_s(line, start_c, loop.site.outdoor_c),
            line_cool_s(line, GUARD_START_C, loop.site.outdoor_c),
        )
        for name, line, start_c in zip(
            ("cold", "hot", "back"), all_lines(loop), running, strict=True
        )
        if line.outdoors
    )


def pump_rest_s(loop: Loop, lines: tuple[LineFreeze, ...]) -> float:
    """Longest rest of the freeze guard's pump, s: half the quickest line's time from 10 degC."""
    rest_s = min((line.cool_s for line in lines), default=math.inf) / 2
    typed_min = loop.limits.pump_rest_min
    return safer_low(rest_s, None if typed_min is None else 60 * typed_min)
