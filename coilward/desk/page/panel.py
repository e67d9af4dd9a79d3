"""A small line chart as SVG: a few lines over one axis, with levels that have a name."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.desk.page.palette import FAINT, INK, RULE, Stroke
from coilward.desk.page.paper import FONTS
from coilward.desk.page.plot import round_numbers, words

Numbers = NDArray[np.float64]

LEFT, RIGHT, TOP, BOTTOM = 34.0, 6.0, 20.0, 28.0
SIZE: Final = 9.0
MOST_POINTS: Final = 400


class Line(NamedTuple):
    """One line; with ``dots`` a mark at each of its points."""

    x: Numbers
    y: Numbers
    stroke: Stroke
    dots: bool = False


class Level(NamedTuple):
    """A limit across the chart, with its name."""

    y: float
    words: str


class Panel(NamedTuple):
    """One chart."""

    title: str
    across: str
    """Name and unit of the axis."""
    lines: Sequence[Line]
    levels: Sequence[Level] = ()


def panel(chart: Panel, wide: float, high: float, edges: tuple[float, float]) -> str:
    """The chart as one SVG; ``edges`` are the least and the most of its height."""
    low, top = edges
    left = min(float(np.min(line.x)) for line in chart.lines)
    right = max(float(np.max(line.x)) for line in chart.lines)

    def x_of(value: float) -> float:
        return LEFT + (wide - LEFT - RIGHT) * (value - left) / (right - left)

    def y_of(value: float) -> float:
        share = (min(max(value, low), top) - low) / (top - low)
        return high - BOTTOM - (high - BOTTOM - TOP) * share

    parts = [words(LEFT, 11, chart.title, size=SIZE, bold=True)]
    for tick in round_numbers(low, top, 5):
        y = y_of(tick)
        parts.append(f'<path d="M{LEFT:g} {y:.1f}H{wide - RIGHT:g}" stroke="{RULE}" '
                     'stroke-width="0.6"/>')  # fmt: skip
        parts.append(words(LEFT - 4, y + 3, f"{tick:g}", "end", SIZE))
    for tick in round_numbers(left, right, max(int(wide / 60), 2)):
        x = x_of(tick)
        parts.append(f'<path d="M{x:.1f} {high - BOTTOM:g}v3" stroke="{FAINT}"/>')
        parts.append(words(x, high - BOTTOM + 12, f"{tick:g}", "middle", SIZE))
    parts.append(words(0.5 * (LEFT + wide - RIGHT), high - 3, chart.across, "middle", SIZE))
    for level in chart.levels:
        y = y_of(level.y)
        parts.append(f'<path d="M{LEFT:g} {y:.1f}H{wide - RIGHT:g}" stroke="{INK}" '
                     'stroke-width="1" stroke-dasharray="7 3"/>')  # fmt: skip
        parts.append(words(wide - RIGHT - 2, y - 3, level.words, "end", SIZE))
    for line in chart.lines:
        places = [
            (x_of(float(x)), y_of(float(y))) for x, y in zip(*_thin(line), strict=True)
        ]
        way = "L".join(f"{x:.1f} {y:.1f}" for x, y in places)
        dash = " ".join(map(str, line.stroke.dash))
        parts.append(f'<path d="M{way}" fill="none" stroke="{line.stroke.colour}" '
                     f'stroke-width="{line.stroke.width}" stroke-dasharray="{dash}"/>')  # fmt: skip
        if line.dots:
            parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.2" fill="{line.stroke.colour}"/>'
                      for x, y in places]  # fmt: skip
    parts.append(f'<path d="M{LEFT:g} {TOP:g}V{high - BOTTOM:g}H{wide - RIGHT:g}" fill="none" '
                 f'stroke="{FAINT}"/>')  # fmt: skip
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high:g}" '
        f'width="{wide:g}" height="{high:g}" role="img" font-family="{FONTS}" fill="{INK}">'
        f"<title>{escape(chart.title)}</title>{''.join(parts)}</svg>"
    )


def _thin(line: Line) -> tuple[Numbers, Numbers]:
    every = max(1, math.ceil(len(line.x) / MOST_POINTS))
    return line.x[::every], line.y[::every]
