"""Every reading of the loop with its word of trust: fresh, stale, doubtful, lost or not fitted."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, Literal, NamedTuple

from coilward.controller.interlocks import bit
from coilward.controller.plausibility import (
    FLOW_ODD,
    OUTLET_A_FROZEN,
    OUTLET_B_FROZEN,
    OUTLET_LOW,
    OUTLET_UNMOVED,
    RESIDUAL,
    TANK_FROZEN,
)
from coilward.controller.sensing import in_range
from coilward.desk.live.scene import Scene
from coilward.loop.units import show

Trust = Literal["fresh", "stale", "doubtful", "lost", "not fitted"]


STILL: Final = ("outlet_a", "outlet_b")
"""Thermometers on a pipe outside the fire: while the water stands they cool, and the coil boils."""


class Reading(NamedTuple):
    """One reading as it is drawn."""

    key: str
    name: str
    value: str
    trust: Trust


class Channel(NamedTuple):
    """Where a reading comes from, and what makes it doubtful."""

    key: str
    name: str
    field: str
    unit: str
    suspicions: int = 0
    rows: int = 0
    fitted: str = ""
    """Name of the switch in `Fitted`; empty for what is always there."""


CHANNELS: Final[tuple[Channel, ...]] = (
    Channel("outlet_a", "coil outlet A", "coil_outlet_a_c", "c",
            OUTLET_A_FROZEN | OUTLET_LOW | OUTLET_UNMOVED, bit("C13") | bit("C43")),
    Channel("outlet_b", "coil outlet B", "coil_outlet_b_c", "c",
            OUTLET_B_FROZEN | OUTLET_LOW | OUTLET_UNMOVED, bit("C13") | bit("C43"), "outlet_b"),
    Channel("tank", "tank", "tank_c", "c", TANK_FROZEN, bit("C15")),
    Channel("radiator_inlet", "radiator in", "radiator_inlet_c", "c", RESIDUAL, bit("C18"),
            "radiator_inlet"),
    Channel("radiator_outlet", "radiator out", "radiator_outlet_c", "c", 0, 0,
            "radiator_outlet"),
    Channel("metal", "coil metal", "coil_metal_c", "c", 0, 0, "metal"),
    Channel("flue", "flue", "flue_c", "c", 0, 0, "flue"),
    Channel("room", "room", "room_c", "c", 0, 0, "room"),
    Channel("line", "coldest line", "line_min_c", "c", 0, 0, "line"),
    Channel("flow", "flow", "flow_lpm", "lpm", FLOW_ODD,
            bit("C16") | bit("C17") | bit("C46")),
    Channel("pump", "pump", "pump_a", "a", 0, bit("C02"), "current"),
    Channel("supply", "supply", "supply_v", "v", 0, 0),
)  # fmt: skip
"""What the loop picture shows, in the order of the water."""


def reading(channel: Channel, scene: Scene, stale: bool) -> Reading:
    """One channel in one scene."""
    fitted = not channel.fitted or getattr(scene.place.constants.fitted, channel.fitted)
    if not fitted:
        return Reading(channel.key, channel.name, "", "not fitted")
    value = float(getattr(scene.tick.readings, channel.field))
    if channel.key == "flow":
        value = scene.seen.flow_lpm
    known = not math.isnan(value) and (channel.unit != "c" or in_range(value) or _hot(channel))
    shown = show(value, channel.unit, scene.place.system) if known else "no reading"
    return Reading(channel.key, channel.name, shown, _trust(channel, scene, known, stale))


def _hot(channel: Channel) -> bool:
    """Metal and flue may be hotter than any water."""
    return channel.key in ("metal", "flue")


def _trust(channel: Channel, scene: Scene, known: bool, stale: bool) -> Trust:
    state = scene.tick.state
    if stale:
        return "stale"
    if not known:
        return "lost"
    doubted = state.doubt.suspects & channel.suspicions or state.raised & channel.rows
    if scene.water_stands and channel.key in STILL:
        return "doubtful"
    return "doubtful" if doubted or _outvoted(channel.key, scene) else "fresh"


def _outvoted(key: str, scene: Scene) -> bool:
    """Whether the vote has dropped an outlet thermometer that still reads something."""
    dropped: dict[str, Callable[[], bool]] = {
        "outlet_a": lambda: not scene.seen.outlet_a_ok,
        "outlet_b": lambda: not scene.seen.outlet_b_ok,
        "tank": lambda: not scene.seen.tank_ok,
    }
    return key in dropped and dropped[key]()


def readings(scene: Scene, stale: bool) -> tuple[Reading, ...]:
    """All of them."""
    return tuple(reading(channel, scene, stale) for channel in CHANNELS)
