"""Heat and wood, the battery behind the pump, and the link to what decides."""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

from coilward.controller.interlocks import bit
from coilward.desk.live.scene import Scene
from coilward.desk.live.words import about
from coilward.loop.sums.supply import lead_acid_ah
from coilward.loop.sums.wood import net_j_kg, wood_kg_h
from coilward.loop.units import convert, show

Tone = Literal["well", "care", "act", "unknown"]
LATE_S: Final = 0.25
"""A decision so late has missed its tick."""
SHORT_H: Final = 2.0
"""A burn-out takes at least so long with the fans: a battery that lasts less is told."""


class Fact(NamedTuple):
    """A short heading, what is told, and how grave it is."""

    name: str
    text: str
    tone: Tone


def heat(scene: Scene) -> Fact:
    """Heat now with what the thermometers' stated errors make of it, and the wood for it."""
    loop, system, heat_w = scene.place.loop, scene.place.system, scene.heat_w
    if math.isnan(heat_w):
        return Fact("Heat now", "not known", "unknown")
    if heat_w <= 0.0:
        return Fact("Heat now", "none", "well")
    error_k = math.hypot(loop.sensors.coil_outlet_a.error_k, loop.sensors.tank.error_k)
    error_w = scene.place.constants.water.w_per_lpm_k * scene.seen.flow_lpm * error_k
    kg_h = wood_kg_h(heat_w, loop.fire.caught, net_j_kg(loop.fire.moisture))
    band = f"± {convert(error_w, 'w', system)[0]:.1f}"
    number, unit = convert(heat_w, "w", system)
    return Fact(
        "Heat now", f"{number:.1f} {band} {unit}, about {show(kg_h, 'kg_h', system)} of wood",
        "well",
    )


def battery(scene: Scene) -> Fact:
    """How long the battery would run what runs now, if its charger stopped."""
    power, readings = scene.place.loop.power, scene.tick.readings
    volts = show(readings.supply_v, "v", scene.place.system)
    low = bool(scene.active & bit("C29"))
    if not power.battery_ah:
        return Fact("Supply", f"{volts}, no battery", "act" if low else "care")
    pump_a = readings.pump_a
    if math.isnan(pump_a):
        pump_a = scene.place.loop.pump.current_a if scene.tick.commands.pump else 0.0
    fans_a = readings.fan_a if not math.isnan(readings.fan_a) else 0.0
    hours = power.battery_ah / lead_acid_ah(max(pump_a, 0.0) + max(fans_a, 0.0) + power.board_a)
    tone: Tone = "act" if low else "well" if hours >= SHORT_H else "care"
    return Fact(
        "Battery",
        f"{volts}. If its charger stops, a full one lasts {about(3600 * hours)} at this load.",
        tone,
    )


def link(scene: Scene, age_s: float, stale: bool) -> Fact:
    """Whether ticks come, and in time."""
    if stale:
        return Fact("Link", f"nothing from the board for {about(age_s)}", "act")
    late_s = scene.tick.late_s
    if late_s > LATE_S:
        return Fact("Link", f"decides {late_s:.1f} s late", "care")
    return Fact("Link", "fresh", "well")


def outputs(scene: Scene) -> tuple[tuple[str, str, bool], ...]:
    """What the outputs are told: key, words, whether it does something."""
    said = scene.tick.commands
    return (
        ("pump_told", "on" if said.pump else "off", said.pump),
        ("valve", f"{100 * said.valve:.0f} % open", said.valve > 0.0),
        ("fans", f"fans {100 * said.fans:.0f} %" if said.fans else "fans off", said.fans > 0.0),
        ("damper", "open" if said.damper_open else "shut", said.damper_open),
        ("dump", "open" if said.dump_open else "shut", said.dump_open),
    )
