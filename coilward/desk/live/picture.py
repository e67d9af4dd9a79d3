"""The loop as a picture, lying for a desk and standing for a phone; numbers are put in later."""

from __future__ import annotations

from html import escape
from typing import Final, NamedTuple

from coilward.desk.live.readings import CHANNELS
from coilward.desk.live.source import Place


class Spot(NamedTuple):
    """Where a part or a reading stands: left edge and top, in the picture's own units."""

    x: float
    y: float


class Layout(NamedTuple):
    """One way of laying the loop out."""

    name: str
    wide: int
    high: int
    lines: dict[str, str]
    """Paths of pipe, in the direction of the water."""
    parts: dict[str, tuple[str, float, float, float, float]]
    """Part: words, x, y, width, height."""
    readings: dict[str, Spot]


LYING: Final = Layout(
    "lying", 1180, 520,
    {
        "cold": "M150 330V420H880V350", "hot": "M880 180V70H640",
        "back": "M440 70H150V180", "dump": "M740 70V240H560",
    },
    {
        "tank": ("tank", 50, 180, 200, 150), "pump": ("pump", 300, 392, 100, 56),
        "valve": ("valve", 620, 392, 120, 56), "coil": ("coil over the fire", 790, 180, 180, 170),
        "radiator": ("radiator", 440, 40, 200, 60), "dump": ("dump", 450, 212, 110, 56),
        "damper": ("damper", 1010, 292, 120, 56),
    },
    {
        "tank": Spot(70, 240), "pump": Spot(300, 472), "flow": Spot(455, 350),
        "outlet_a": Spot(905, 62), "outlet_b": Spot(905, 122), "metal": Spot(810, 240),
        "flue": Spot(1010, 220), "radiator_inlet": Spot(660, 97), "radiator_outlet": Spot(250, 97),
        "room": Spot(440, 127), "line": Spot(755, 455), "supply": Spot(50, 472),
    },
)  # fmt: skip
STANDING: Final = Layout(
    "standing", 400, 775,
    {
        "cold": "M70 630V700H340V540", "hot": "M340 400V70H270", "back": "M130 70H20V480",
        "dump": "M340 212H270",
    },
    {
        "tank": ("tank", 5, 480, 155, 150), "pump": ("pump", 20, 672, 90, 56),
        "valve": ("valve", 275, 590, 120, 56), "coil": ("coil over the fire", 215, 400, 180, 140),
        "radiator": ("radiator", 130, 40, 140, 60), "dump": ("dump", 165, 184, 105, 56),
        "damper": ("damper", 45, 290, 110, 56),
    },
    {
        "tank": Spot(22, 540), "pump": Spot(120, 725), "flow": Spot(120, 650),
        "outlet_a": Spot(195, 275), "outlet_b": Spot(195, 333), "metal": Spot(230, 460),
        "flue": Spot(45, 225), "radiator_inlet": Spot(285, 20), "radiator_outlet": Spot(5, 20),
        "room": Spot(130, 122), "line": Spot(175, 565), "supply": Spot(45, 375),
    },
)  # fmt: skip
TOLD: Final = {
    "pump": "pump_told", "valve": "valve", "radiator": "fans", "damper": "damper", "dump": "dump",
}
"""Parts that are told what to do, with the output that tells them."""


def pictures(place: Place) -> str:
    """Both pictures; the page shows the one that fits."""
    return _picture(LYING, place) + _picture(STANDING, place)


def _picture(layout: Layout, place: Place) -> str:
    loop = place.loop
    missing = set()
    if loop.radiator is None:
        missing.add("radiator")
    if loop.dump is None:
        missing.add("dump")
    pipes = "".join(
        f'<path class="pipe {name}" d="{path}"/><path class="water {name}" d="{path}"/>'
        for name, path in layout.lines.items() if name not in missing
    )  # fmt: skip
    if "radiator" in missing:
        x, y, wide, high = layout.parts["radiator"][1:]
        across = f"M{x + wide:g} {y + high / 2:g}H{x:g}"
        pipes += f'<path class="pipe" d="{across}"/><path class="water hot" d="{across}"/>'
    parts = "".join(
        _part(name, *shape) for name, shape in layout.parts.items() if name not in missing
    )
    readings = "".join(
        _reading(channel.key, channel.name, layout.readings[channel.key]) for channel in CHANNELS
        if not channel.fitted or getattr(place.constants.fitted, channel.fitted)
    )  # fmt: skip
    return (
        f'<svg class="loop {layout.name}" viewBox="0 0 {layout.wide} {layout.high}" role="group" '
        f'aria-label="The loop with its readings">{pipes}{parts}{readings}</svg>'
    )


def _part(name: str, words: str, x: float, y: float, wide: float, high: float) -> str:
    told = TOLD.get(name)
    state = (
        f'<text class="told" x="{x + wide / 2:g}" y="{y + high - 9:g}" data-output="{told}">'
        "</text>"
    )
    title_y = y + 20 if told or high > 60 else y + high / 2 + 6
    return (
        f'<g class="part {name}"><rect x="{x:g}" y="{y:g}" width="{wide:g}" height="{high:g}" '
        f'rx="6"/><text x="{x + wide / 2:g}" y="{title_y:g}">{escape(words)}</text>'
        f"{state if told else ''}</g>"
    )


def _reading(key: str, name: str, spot: Spot) -> str:
    return (
        f'<g class="reading" data-reading="{key}"><text class="name" x="{spot.x:g}" '
        f'y="{spot.y:g}">{escape(name)}</text><text class="value" x="{spot.x:g}" '
        f'y="{spot.y + 22:g}"></text><text class="trust" x="{spot.x:g}" y="{spot.y + 38:g}">'
        "</text></g>"
    )
