"""Rules that tie keys of a loop file together: one row a rule, each with its reason."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from coilward.loop.model import Coil, Fire, Heights, Layout, Line, Loop, Pump, Room, Tank
from coilward.loop.units import Section


@dataclass(frozen=True)
class Broken:
    """One rule that a section breaks; `key` is counted from that section."""

    key: tuple[str | int, ...]
    problem: str
    accepted: str


@dataclass(frozen=True)
class Rule:
    """A check of one section, or of every section in a list of them."""

    place: tuple[str, ...]
    """Where the section stands in the file; empty for the whole file."""
    model: type[Section]
    check: Callable[[Any], Iterator[Broken]]


def _room(room: Room) -> Iterator[Broken]:
    if math.isnan(room.heat_loss_w_k):
        yield Broken(
            ("heat_loss",),
            "nothing tells what the room loses",
            'a key heat_loss, for example heat_loss = "158 W/K", or a section [room.envelope]',
        )


def _fire(fire: Fire) -> Iterator[Broken]:
    if fire.largest_kw < fire.nominal_kw:
        yield Broken(
            ("largest",),
            "the largest heat is less than the nominal heat",
            f'at least the nominal heat, for example largest = "{1.5 * fire.nominal_kw:g} kW"',
        )


def _coil(coil: Coil) -> Iterator[Broken]:
    if coil.outside_diameter_mm <= 2 * coil.wall_mm + 2:
        yield Broken(
            ("wall",),
            "two walls leave less than 2 mm of bore",
            f"a wall under {coil.outside_diameter_mm / 2 - 1:g} mm for this diameter, "
            'for example wall = "0.7 mm"',
        )
    if coil.turn_diameter_m * 1000 <= 2 * coil.outside_diameter_mm:
        yield Broken(
            ("turn_diameter",),
            "the turns are tighter than two tube diameters",
            f"more than {2 * coil.outside_diameter_mm:g} mm, "
            'for example turn_diameter = "0.4 m"',
        )


def _tank(tank: Tank) -> Iterator[Broken]:
    if tank.low_low >= tank.low:
        yield Broken(
            ("low_low",),
            "the low-low level is not under the low level",
            f'less than {100 * tank.low:g} %, for example low_low = "{57 * tank.low:.0f} %"',
        )


def _pump(pump: Pump) -> Iterator[Broken]:
    for number, (before, after) in enumerate(pairwise(pump.curve), start=1):
        if after.flow_lpm <= before.flow_lpm or after.head_kpa >= before.head_kpa:
            yield Broken(
                ("curve", number),
                "the flow does not rise, or the head does not fall, from the point before",
                f"a flow over {before.flow_lpm:g} L/min with a head under {before.head_kpa:g} kPa, "
                'for example { flow = "8 L/min", head = "10 kPa" } after '
                '{ flow = "0 L/min", head = "20 kPa" }',
            )
    if not pump.current_low_a < pump.current_a:
        yield Broken(
            ("current_low",),
            "the low limit is not under the running current",
            f"less than {pump.current_a:g} A, "
            f'for example current_low = "{0.6 * pump.current_a:g} A"',
        )
    if not pump.current_a < pump.current_high_a:
        yield Broken(
            ("current_high",),
            "the high limit is not over the running current",
            f"more than {pump.current_a:g} A, "
            f'for example current_high = "{1.6 * pump.current_a:g} A"',
        )


def _line(line: Line) -> Iterator[Broken]:
    if line.outside_diameter_mm <= line.inside_diameter_mm:
        yield Broken(
            ("outside_diameter",),
            "the pipe is not wider outside than inside",
            f"more than {line.inside_diameter_mm:g} mm, "
            f'for example outside_diameter = "{line.inside_diameter_mm + 2:g} mm"',
        )


def _heights(heights: Heights) -> Iterator[Broken]:
    if heights.vent_top_m <= heights.tank_water_m:
        yield Broken(
            ("vent_top",),
            "an open vent that ends no higher than the tank's water would overflow",
            f"more than {heights.tank_water_m:g} m, "
            f'for example vent_top = "{heights.tank_water_m + 1:g} m"',
        )


def _layout(layout: Layout) -> Iterator[Broken]:
    path = layout.path
    if path[0] != "tank" or path[-1] != "tank":
        yield Broken(
            ("path",),
            "the water's way does not lead from tank to tank",
            'a list that begins and ends with "tank", for example '
            'path = ["tank", "pump", "meter", "valve", "coil", "vent", "radiator", "tank"]',
        )
    for needed in ("pump", "coil"):
        if path.count(needed) != 1:
            yield Broken(
                ("path",),
                f"the water passes {path.count(needed)} elements called {needed}",
                f'exactly one "{needed}" in path',
            )


def _loop(loop: Loop) -> Iterator[Broken]:
    has_radiator = loop.radiator is not None
    if loop.room.kind == "room" and not has_radiator:
        yield Broken(
            ("room", "kind"),
            "a room is heated through a radiator, and there is no section [radiator]",
            'a section [radiator], or kind = "tub" where the tank itself is what is heated',
        )
    if ("radiator" in loop.layout.path) != has_radiator:
        yield Broken(
            ("layout", "path"),
            "the path and the section [radiator] do not agree",
            'both "radiator" in the path and a section [radiator], or neither',
        )
    for name in ("radiator_inlet", "radiator_outlet"):
        if getattr(loop.sensors, name) is not None and not has_radiator:
            yield Broken(
                ("sensors", name),
                "this thermometer has no radiator to sit on",
                f"no key {name} where there is no section [radiator]",
            )
    if loop.passive.valve_stop is not None and loop.valve.stop + loop.valve.bypass_lpm <= 0:
        yield Broken(
            ("passive", "valve_stop"),
            "a stop is listed as fitted, but the valve's stop leaves nothing open",
            'the stroke that it leaves open, for example stop = "35 %" in [valve]',
        )


LOOP_RULES: tuple[Rule, ...] = (
    Rule(("room",), Room, _room),
    Rule(("fire",), Fire, _fire),
    Rule(("coil",), Coil, _coil),
    Rule(("tank",), Tank, _tank),
    Rule(("pump",), Pump, _pump),
    Rule(("lines", "cold"), Line, _line),
    Rule(("lines", "hot"), Line, _line),
    Rule(("lines", "back"), Line, _line),
    Rule(("layout",), Layout, _layout),
    Rule(("layout", "heights"), Heights, _heights),
    Rule((), Loop, _loop),
)
