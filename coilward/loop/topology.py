"""Layouts that no logic can make safe."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coilward.loop.findings import Finding
from coilward.loop.hydraulics import inherent_kv_m3h
from coilward.loop.model import Element, Loop
from coilward.loop.units import show

LEAST_VENT_BORE_MM = 20.0
SOLDERED = frozenset({"sn50pb50", "sn60pb40", "sn95sb5", "sn97cu3", "sn96ag4"})
"""Soft solders: the first of them melt at 183 degC, long before a dry coil is red."""


def valve_can_shut(loop: Loop) -> bool:
    """Whether the throttle valve can stop the water: neither a stop that holds it open nor bypass.

    A stop below the stroke at which the valve cracks open leaves it shut.
    """
    valve = loop.valve
    held_open = inherent_kv_m3h(valve.stop, valve.kvs_m3h, valve.rangeability, valve.crack_open)
    return held_open <= 0 and valve.bypass_lpm <= 0


def _can_close(element: Element, loop: Loop) -> bool:
    if element == "valve":
        return valve_can_shut(loop)
    return element in ("shut-off", "check-valve")


def _until_open(way: Sequence[Element]) -> list[Element]:
    """What the water meets from the coil outward, up to where the loop is open to the air."""
    met: list[Element] = []
    for element in way:
        if element in ("vent", "tank"):
            break
        met.append(element)
    return met


def _between_coil_and_vent(path: Sequence[Element]) -> list[Element]:
    coil, vent = path.index("coil"), path.index("vent")
    return list(path[min(coil, vent) + 1 : max(coil, vent)])


def _path(loop: Loop) -> Iterator[Finding]:
    path = loop.layout.path
    if "vent" not in path:
        yield Finding(
            "no-vent",
            "The water's path has no open vent. When the flow stops the coil boils, and the steam "
            "has no way out but through a joint or a hose. Lead an open pipe from the coil's "
            "outlet, always rising, to above the tank.",
            "stop",
        )
    else:
        closers = [
            element
            for element in _between_coil_and_vent(path)
            if element in ("shut-off", "check-valve", "valve")
        ]
        if closers:
            yield Finding(
                "valve-before-vent",
                f"Between the coil and the vent stands a {' and a '.join(closers)}. Shut, stuck or "
                "forgotten, it turns the coil into a boiler without a vent. Move the vent to the "
                "coil's side of it, or take it out.",
                "stop",
            )
    coil = path.index("coil")
    before, after = _until_open(path[:coil][::-1]), _until_open(path[coil + 1 :])
    if all(any(_can_close(element, loop) for element in way) for way in (before, after)):
        yield Finding(
            "coil-shut-both-ends",
            "The coil can be shut at both ends. Water locked into copper gains several bar for "
            "each kelvin, and the coil bursts within seconds, before any logic can act. Leave one "
            "side open to the tank or the vent, without anything that can close.",
            "stop",
        )


def _drain_back(loop: Loop) -> Iterator[Finding]:
    heights = loop.layout.heights
    if heights.tank_water_m < heights.coil_top_m and "anti-drain" not in loop.layout.path:
        yield Finding(
            "drains-back",
            f"The tank's water stands {show(heights.tank_water_m, 'm', loop.units)} high, below "
            f"the coil's top at {show(heights.coil_top_m, 'm', loop.units)}, and nothing keeps "
            "the water from draining back. When the pump stops, the coil runs empty in seconds "
            "and the fire burns it dry. Raise the tank above the coil, or fit a loop seal with "
            "an anti-siphon opening.",
            "stop",
        )


def _vent(loop: Loop) -> Iterator[Finding]:
    layout = loop.layout
    if not layout.vent_always_rising:
        yield Finding(
            "vent-dip",
            "The vent does not rise all the way. Water or ice in its dip is a plug, just when "
            "steam must leave. Lay it so that every drop runs back into the coil.",
            "stop",
        )
    if not layout.vent_freeze_safe:
        yield Finding(
            "vent-freezes",
            "The vent can freeze or be snowed shut. A blocked vent leaves the steam no way out. "
            "Keep it warm or insulated, and its end sheltered from snow and wasps.",
            "stop",
        )
    if layout.vent_bore_mm < LEAST_VENT_BORE_MM:
        yield Finding(
            "vent-narrow",
            f"The vent's bore is {show(layout.vent_bore_mm, 'mm', loop.units)}. Steam of a wood "
            "fire throws water before it, and a narrow pipe chokes. Use at least "
            f"{show(LEAST_VENT_BORE_MM, 'mm', loop.units)}.",
            "stop",
        )
    heights = layout.heights
    if heights.vent_top_m <= max(heights.tank_water_m, heights.coil_top_m):
        yield Finding(
            "vent-low",
            "The vent's end is not above both the tank's water and the coil's top. It spills, or "
            "it does not reach the place where the steam collects. Carry it higher than both.",
            "stop",
        )


def _joints(loop: Loop) -> Iterator[Finding]:
    for joint in loop.coil.joints:
        if joint.zone != "fire" or joint.alloy == "brazed":
            continue
        name = f" ({joint.name})" if joint.name else ""
        if joint.alloy in SOLDERED:
            yield Finding(
                "soldered-joint-in-fire",
                f"A joint in the fire{name} is soft-soldered. Without water it melts within half "
                "a minute and sprays steam into the fire. Use one continuous tube in the fire, "
                "or braze.",
                "stop",
            )
        else:
            yield Finding(
                "compression-joint-in-fire",
                f"A joint in the fire{name} is a compression fitting. Heat loosens it, and it "
                "leaks steam where nobody can reach it. Use one continuous tube in the fire, or "
                "braze.",
                "stop",
            )


def _valve(loop: Loop) -> Iterator[Finding]:
    if valve_can_shut(loop):
        yield Finding(
            "valve-can-shut",
            "The valve can shut, and there is neither a stop that keeps it open nor a bypass. A "
            "slipped horn or a wrong command then stops the water, and nothing opens it again. "
            "Fit a mechanical stop above the stroke at which it cracks open, or a bypass without "
            "a valve.",
            "stop",
        )


def forbidden(loop: Loop) -> list[Finding]:
    """Forbidden layouts, in the order in which a builder walks along the water.

    The path must hold its one coil, as every accepted loop file's does.
    """
    checks = (_path, _drain_back, _vent, _joints, _valve)
    return [finding for check in checks for finding in check(loop)]
