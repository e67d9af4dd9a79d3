"""The same loop with one thing built otherwise."""

from __future__ import annotations

from typing import TypeVar

from coilward.loop.model import Loop
from coilward.loop.units import Section

Part = TypeVar("Part", bound=Section)


def scaled(part: Part, factor: float, *fields: str) -> Part:
    """A part with some of its numbers multiplied."""
    return part.model_copy(update={name: factor * getattr(part, name) for name in fields})


def heat(loop: Loop, factor: float) -> Loop:
    """Every fire of this loop larger or smaller."""
    return loop.model_copy(
        update={"fire": scaled(loop.fire, factor, "nominal_kw", "largest_kw")}
    )


def flow(loop: Loop, factor: float) -> Loop:
    """A pump turned faster: flow as the speed, head as its square (affinity laws)."""
    curve = [
        scaled(scaled(point, factor, "flow_lpm"), factor**2, "head_kpa")
        for point in loop.pump.curve
    ]
    return loop.model_copy(update={"pump": loop.pump.model_copy(update={"curve": curve})})


def radiator(loop: Loop, factor: float) -> Loop:
    """More of the same radiator, with its fans; a loop without one stays as it is."""
    if loop.radiator is None:
        return loop
    more = scaled(loop.radiator, factor, "fans_on_w_k", "fans_off_w_k", "water_l", "metal_kj_k")
    return loop.model_copy(update={"radiator": more})


def coil(loop: Loop, factor: float) -> Loop:
    """A longer coil of the same tube in the same fire, which gives the same heat."""
    return loop.model_copy(update={"coil": scaled(loop.coil, factor, "length_m")})


def tank(loop: Loop, factor: float) -> Loop:
    """A tank that holds more."""
    return loop.model_copy(update={"tank": scaled(loop.tank, factor, "water_l")})


def dump(loop: Loop, factor: float) -> Loop:
    """More of the same dump; a loop without one stays as it is."""
    if loop.dump is None:
        return loop
    return loop.model_copy(update={"dump": scaled(loop.dump, factor, "conductance_w_k", "water_l")})
