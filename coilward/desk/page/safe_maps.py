"""Safe and unsafe as two maps: the zones by hatch and word, the loop's own points by letter."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from coilward.desk.page import palette as ink
from coilward.desk.page.paper import FONTS
from coilward.desk.page.plot import Axis, Frame, edges, words
from coilward.loop.trips import is_tub
from coilward.sizing.maps import limit_w, tank_limit_c

if TYPE_CHECKING:
    from coilward.sizing.maps import Point, Zone
    from coilward.sizing.sized import Sized

WIDE: Final = 351.0
HIGH: Final = 250.0
STEPS: Final = 240
HATCHES: Final[dict[Zone, str]] = {
    "allowed": "",
    "too hot": '<path d="M0 8L8 0" stroke="#16202c" stroke-width=".9"/>',
    "boils": '<path d="M0 6L6 0M0 0L6 6" stroke="#16202c" stroke-width="1.1"/>',
}
FILLS: Final[dict[Zone, str]] = {"allowed": "#ffffff", "too hot": "#f8e7c1", "boils": "#ee8f73"}
TOLD: Final[dict[Zone, str]] = {
    "allowed": "under the allowed", "too hot": "too hot: trips", "boils": "BOILS",
}  # fmt: skip


def heat_flow_map(sized: Sized) -> str:
    """Where the outlet settles at each heat and flow."""
    loop, derived, reach = sized.loop, sized.derived, sized.maps
    frame = _frame(
        Axis("heat into the water", "w", 0.0, reach.most_w),
        Axis("flow", "lpm", 0.0, reach.most_lpm), sized,
    )  # fmt: skip
    flows = [reach.most_lpm * max(number, 0.01) / STEPS for number in range(STEPS + 1)]
    allowed, boils = (
        [(limit_w(loop, derived, flow, edge), flow) for flow in flows]
        for edge in (derived.allow_c, derived.coil_boil_c)
    )
    top = [(0.0, reach.most_lpm), (0.0, 0.0)]
    right = [(reach.most_w, 0.0), (reach.most_w, reach.most_lpm)]
    parts = [
        _zone(frame, "boils", boils[::-1] + right, "f"),
        _zone(frame, "too hot", allowed + boils[::-1], "f"),
        _zone(frame, "allowed", allowed + top, "f"),
        _level(frame, derived.flow_least_lpm, "least flow"),
        *(_mark(frame, point, point.heat_w, point.flow_lpm) for point in reach.flow_points),
    ]
    title = "Tub at its hottest" if is_tub(loop) else "Settled, by heat and flow"
    return _picture(frame, title, "f", parts, reach.flow_points)


def heat_tank_map(sized: Sized) -> str:
    """What each heat makes of the outlet at each tank, with the valve open."""
    derived, reach = sized.derived, sized.maps
    low_c = min(0.0, sized.loop.room.air_c)
    frame = _frame(
        Axis("heat into the water", "w", 0.0, reach.most_w),
        Axis("tank", "c", low_c, derived.coil_boil_c), sized,
    )  # fmt: skip
    ends = (0.0, reach.most_w)
    allowed, boils = (
        [(heat, tank_limit_c(derived, heat, edge)) for heat in ends]
        for edge in (derived.allow_c, derived.coil_boil_c)
    )
    parts = [
        _zone(frame, "boils", [*boils, (reach.most_w, derived.coil_boil_c)], "t"),
        _zone(frame, "too hot", allowed + boils[::-1], "t"),
        _zone(frame, "allowed", [*allowed, (reach.most_w, low_c), (0.0, low_c)], "t"),
        _level(frame, derived.tank_trip_c, "tank trip"),
        *(_mark(frame, point, point.heat_w, point.tank_c) for point in reach.tank_points),
    ]
    return _picture(frame, "Valve open, by heat and tank", "t", parts, reach.tank_points)


def _frame(across: Axis, up: Axis, sized: Sized) -> Frame:
    return Frame(38, 30, WIDE - 6, HIGH - 62, across, up, sized.system)


def _zone(frame: Frame, zone: Zone, pairs: list[tuple[float, float]], name: str) -> str:
    at = frame.points(pairs)
    slug = zone.replace(" ", "-")
    hatch = f'<polygon points="{at}" fill="url(#{name}-{slug})"/>' if HATCHES[zone] else ""
    return (
        f'<polygon points="{at}" fill="{FILLS[zone]}" stroke="{ink.INK}" stroke-width="1"/>{hatch}'
    )


def _level(frame: Frame, value: float, name: str) -> str:
    y = frame.y(value)
    return (
        f'<path d="M{frame.left:g} {y:.1f}H{frame.right:g}" stroke="{ink.NAVY}" '
        f'stroke-width="1.4" stroke-dasharray="6 3"/>'
        + _plate(frame.right - 4, y - 3, name, "end")
    )


def _plate(x: float, y: float, text: str, anchor: str) -> str:
    """Text on white, so that it can be read on any hatch."""
    wide = 5.0 * len(text) + 4
    left = x - wide + 2 if anchor == "end" else x - 2
    return (
        f'<rect x="{left:.1f}" y="{y - 8.5:.1f}" width="{wide:.1f}" height="11" fill="#fff" '
        f'fill-opacity=".85"/>{words(x, y, text, anchor)}'
    )


def _mark(frame: Frame, point: Point, across: float, up: float) -> str:
    x, y = frame.x(across), frame.y(up)
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="7.5" fill="#fff" stroke="{ink.INK}" '
        f'stroke-width="1.6"/>{words(x, y + 3.4, point.mark, "middle", 9.5, True)}'
    )


def _picture(
    frame: Frame, title: str, name: str, parts: list[str], points: tuple[Point, ...]
) -> str:
    patterns = "".join(
        f'<pattern id="{name}-{zone.replace(" ", "-")}" width="{size}" height="{size}" '
        f'patternUnits="userSpaceOnUse">{lines}</pattern>'
        for (zone, lines), size in zip(HATCHES.items(), (8, 8, 6), strict=True)
        if lines
    )
    legend = []
    x = 4.0
    for zone, told in TOLD.items():
        y = HIGH - 22
        swatch = [(x, y - 8), (x + 14, y - 8), (x + 14, y + 1), (x, y + 1)]
        at = " ".join(f"{a:g},{b:g}" for a, b in swatch)
        legend.append(f'<polygon points="{at}" fill="{FILLS[zone]}" stroke="{ink.INK}"/>')
        if HATCHES[zone]:
            slug = zone.replace(" ", "-")
            legend.append(f'<polygon points="{at}" fill="url(#{name}-{slug})"/>')
        legend.append(words(x + 18, y, told))
        x += 28 + 5.2 * len(told)
    told = "; ".join(f"{point.mark} {point.words}" for point in points)
    legend.append(words(4, HIGH - 6, told, size=9))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH:g}" role="img" '
        f'font-family="{FONTS}" fill="{ink.INK}"><title>{title}</title><defs>{patterns}</defs>'
        f'{words(4, 11, title, bold=True)}{"".join(parts)}{edges(frame)}{"".join(legend)}</svg>'
    )
