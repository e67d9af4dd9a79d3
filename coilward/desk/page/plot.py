"""A plain frame for a picture of two quantities, in the units of the reader."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from html import escape
from typing import NamedTuple

from coilward.desk.page import palette as ink
from coilward.loop.units import System, convert


class Axis(NamedTuple):
    """One quantity along an edge, in the unit word's own unit."""

    words: str
    unit: str
    low: float
    high: float


class Frame(NamedTuple):
    """Where the picture stands, px, and what its edges mean."""

    left: float
    top: float
    right: float
    bottom: float
    across: Axis
    up: Axis
    system: System

    def x(self, value: float) -> float:
        """Place of a value across; outside values stay at the edge."""
        return self.left + (self.right - self.left) * _share(self.across, value)

    def y(self, value: float) -> float:
        """Place of a value upwards; outside values stay at the edge."""
        return self.bottom - (self.bottom - self.top) * _share(self.up, value)

    def points(self, pairs: Sequence[tuple[float, float]]) -> str:
        """A row of values as the points of a polygon or a line."""
        return " ".join(f"{self.x(a):.1f},{self.y(b):.1f}" for a, b in pairs)


def _share(axis: Axis, value: float) -> float:
    return min(1.0, max(0.0, (value - axis.low) / (axis.high - axis.low)))


def ticks(axis: Axis, system: System, most: int) -> Iterator[tuple[float, str]]:
    """Round places along an axis with what is written there."""
    zero, one = convert(0.0, axis.unit, system)[0], convert(1.0, axis.unit, system)[0]
    low, high = (zero + value * (one - zero) for value in (axis.low, axis.high))
    for number in round_numbers(low, high, most):
        yield (number - zero) / (one - zero), f"{number:g}"


def round_step(span: float, most: int) -> float:
    """The smallest of 1, 2, 5, 10, ... that makes at most so many steps."""
    size = 10.0 ** math.floor(math.log10(span / most))
    return next(each * size for each in (1, 2, 5, 10) if span / (each * size) <= most)


def round_numbers(low: float, high: float, most: int) -> list[float]:
    """Round numbers from one end to the other, at most so many steps apart."""
    step = round_step(high - low, most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [step * number + 0.0 for number in range(first, last + 1)]


def edges(frame: Frame) -> str:
    """The outline, its scales and their words."""
    parts = [
        f'<rect x="{frame.left:g}" y="{frame.top:g}" width="{frame.right - frame.left:g}" '
        f'height="{frame.bottom - frame.top:g}" fill="none" stroke="{ink.INK}"/>'
    ]
    for value, written in ticks(frame.across, frame.system, 8):
        x = frame.x(value)
        parts.append(f'<path d="M{x:.1f} {frame.bottom:g}v4" stroke="{ink.INK}"/>')
        parts.append(words(x, frame.bottom + 13, written, "middle"))
    for value, written in ticks(frame.up, frame.system, 6):
        y = frame.y(value)
        parts.append(f'<path d="M{frame.left:g} {y:.1f}h-4" stroke="{ink.INK}"/>')
        parts.append(words(frame.left - 6, y + 3, written, "end"))
    across, up = (
        f"{axis.words}, {convert(0.0, axis.unit, frame.system)[1]}"
        for axis in (frame.across, frame.up)
    )
    parts.append(words((frame.left + frame.right) / 2, frame.bottom + 25, across, "middle"))
    parts.append(words(frame.left - 30, frame.top - 6, up, "start"))
    return "".join(parts)


def words(
    x: float, y: float, text: str, anchor: str = "start", size: float = 9.5, bold: bool = False
) -> str:
    """Text in a picture."""
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"{weight}>'
        f"{escape(text)}</text>"
    )
