"""The same loop with one thing built otherwise."""

from __future__ import annotations

from typing import TypeVar

from scipy.optimize import brentq

from coilward.loop.hydraulics import rated_flow_lpm
from coilward.loop.model import Loop
from coilward.loop.units import Section

Part = TypeVar("Part", bound=Section)


def scaled(part: Part, factor: float, *fields: str) -> Part:
    """A part with some of its numbers multiplied."""
    return part.model_copy(update={name: factor * getattr(part, name) for name in fields})


def fittings(loop: Loop, factor: float) -> Loop:
    """Every stated loss of fittings and radiator multiplied."""
    lines = {
        name: scaled(getattr(loop.lines, name), factor, "loss_kpa")
        for name in type(loop.lines).model_fields
    }
    parts: dict[str, Section] = {"lines": loop.lines.model_copy(update=lines)}
    if loop.radiator is not None:
        parts["radiator"] = scaled(loop.radiator, factor, "loss_kpa")
    return loop.model_copy(update=parts)


def refitted(old: Loop, new: Loop) -> Loop:
    """The new loop with the same fittings in it.

    A file states their loss at the loop's own flow with the valve open. Where the flow becomes
    another one, the loss has to be stated anew, as its square, or the fittings would be others.
    """
    flow_lpm = rated_flow_lpm(old)

    def at(wanted_lpm: float) -> Loop:
        return fittings(new, (wanted_lpm / flow_lpm) ** 2)

    def over_lpm(wanted_lpm: float) -> float:
        return rated_flow_lpm(at(wanted_lpm)) - wanted_lpm

    return at(float(brentq(over_lpm, flow_lpm / 50, 50 * flow_lpm, xtol=1e-6)))


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
    pump = loop.pump.model_copy(update={"curve": curve})
    return refitted(loop, loop.model_copy(update={"pump": pump}))


def radiator(loop: Loop, factor: float) -> Loop:
    """More of the same radiator, with its fans; a loop without one stays as it is."""
    if loop.radiator is None:
        return loop
    more = scaled(loop.radiator, factor, "fans_on_w_k", "fans_off_w_k", "water_l", "metal_kj_k")
    return loop.model_copy(update={"radiator": more})


def coil(loop: Loop, factor: float) -> Loop:
    """A longer coil of the same tube in the same fire, which gives the same heat."""
    longer = scaled(loop.coil, factor, "length_m")
    return refitted(loop, loop.model_copy(update={"coil": longer}))


def tank(loop: Loop, factor: float) -> Loop:
    """A tank that holds more."""
    return loop.model_copy(update={"tank": scaled(loop.tank, factor, "water_l")})


def dump(loop: Loop, factor: float) -> Loop:
    """More of the same dump; a loop without one stays as it is."""
    if loop.dump is None:
        return loop
    return loop.model_copy(update={"dump": scaled(loop.dump, factor, "conductance_w_k", "water_l")})
