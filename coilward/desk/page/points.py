"""Points against their fit, and what is left over below them, as one picture in black."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from html import escape
from typing import Final, NamedTuple

from coilward.desk.certificate import Dot, Picture
from coilward.desk.page.paper import FONTS

WIDE: Final = 718.0
LEFT, RIGHT = 62.0, 12.0
TOP, HIGH, GAP, LOW_HIGH, FOOT = 20.0, 190.0, 26.0, 74.0, 30.0
SIZE: Final = 3.4
MARKS: Final = (
    '<circle cx="{x}" cy="{y}" r="3.4" fill="#000"/>',
    '<path d="M{l} {t}H{r}V{b}H{l}z" fill="#fff" stroke="#000" stroke-width="1.4"/>',
    '<path d="M{x} {t}L{r} {b}H{l}z" fill="#fff" stroke="#000" stroke-width="1.4"/>',
)
"""A shape a kind, told apart without colour."""


class Axis(NamedTuple):
    """Where a number stands on the paper."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Position of a value, px."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def ticks(self) -> list[float]:
        """Round values, at most nine."""
        span = self.high - self.low
        step = 10 ** math.floor(math.log10(span))
        step = next(step * k for k in (0.1, 0.2, 0.5, 1.0, 2.0) if span / (step * k) <= 8)
        first = math.ceil(self.low / step - 1e-9)
        return [step * n for n in range(first, math.floor(self.high / step + 1e-9) + 1)]


def points_picture(picture: Picture) -> str:
    """The picture as SVG."""
    dots, left = picture.dots, picture.left
    xs = [dot.x for dot in (*dots, *left)] + [x for x, _ in picture.curve]
    across = _axis([*xs, *(x for x, _ in picture.upright)], LEFT, WIDE - RIGHT)
    bottom = TOP + HIGH
    parts = _upper(picture, across, bottom)
    if left:
        top = bottom + GAP
        bottom = top + LOW_HIGH
        edges = [dot.y + side * dot.bar for dot in left for side in (-1, 1)]
        down = _axis([*edges, 0.0], bottom, top)
        parts += [_frame(top, bottom, across), _scale_y(down, picture.left_words, top)]
        zero = down.at(0.0)
        parts.append(f'<path d="M{LEFT:g} {zero:.1f}H{WIDE - RIGHT:g}" stroke="#000"/>')
        parts += [_dot(dot, across, down) for dot in left]
    for tick in across.ticks():
        parts.append(_text(across.at(tick), bottom + 12, _number(tick), "middle"))
    parts.append(_text(WIDE - RIGHT, bottom + 25, picture.x_words, "end", bold=True))
    high = bottom + FOOT
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {high:g}" role="img" '
        f'font-family="{FONTS}"><title>Points against their fit</title>{"".join(parts)}</svg>'
    )


def _upper(picture: Picture, across: Axis, bottom: float) -> list[str]:
    """The points and the fit."""
    parts = [_frame(TOP, bottom, across)]
    if picture.rows:
        down = Axis(len(picture.rows) - 0.5, -0.5, bottom, TOP)
        for row, name in enumerate(picture.rows):
            parts.append(_text(LEFT - 6, down.at(row) + 3, name, "end"))
    else:
        edges = [dot.y + side * dot.bar for dot in picture.dots for side in (-1, 1)]
        down = _axis([*edges, *(y for _, y in picture.curve)], bottom, TOP)
        parts.append(_scale_y(down, picture.y_words, TOP, decades=picture.decades))
    for number, (x, words) in enumerate(sorted(picture.upright)):
        at = across.at(x)
        parts.append(f'<path d="M{at:.1f} {TOP:g}V{bottom:g}" stroke="#000" stroke-width="0.9" '
                     'stroke-dasharray="5 3"/>')  # fmt: skip
        side, anchor = (4, "start") if at < WIDE / 2 else (-4, "end")
        parts.append(_text(at + side, TOP + 11 + 11 * (number % 3), words, anchor))
    line = " ".join(f"{across.at(x):.1f},{down.at(y):.1f}" for x, y in picture.curve)
    if line:
        parts.append(f'<polyline points="{line}" fill="none" stroke="#000" stroke-width="1.2"/>')
    parts += [_dot(dot, across, down) for dot in picture.dots]
    x = WIDE - RIGHT
    for kind in reversed(range(len(picture.kinds) if len(picture.kinds) > 1 else 0)):
        x -= 5.2 * len(picture.kinds[kind]) + 26
        parts.append(_mark(kind, x, 9.0) + _text(x + 8, 12.2, picture.kinds[kind], "start"))
    return parts


def _axis(values: Sequence[float], start: float, end: float) -> Axis:
    """An axis with a little room around its values."""
    low, high = min(values), max(values)
    room = 0.06 * (high - low) or 0.05 * abs(high) or 1.0
    return Axis(low - room, high + room, start, end)


def _frame(top: float, bottom: float, across: Axis) -> str:
    lines = "".join(f"M{across.at(tick):.1f} {top:g}V{bottom:g}" for tick in across.ticks())
    return (
        f'<path d="{lines}" stroke="#bbb" stroke-width="0.6"/><path d="M{LEFT:g} {top:g}V'
        f'{bottom:g}H{WIDE - RIGHT:g}" fill="none" stroke="#000" stroke-width="1.2"/>'
    )


def _scale_y(down: Axis, words: str, top: float, *, decades: bool = False) -> str:
    parts = [_text(4, top - 6, words, "start", bold=True)]
    ticks: Iterable[float] = down.ticks()
    if decades:
        whole = range(math.ceil(down.low), math.floor(down.high) + 1)
        small = (math.log10(k) + n for n in range(-1, 8) for k in (1, 2, 5))
        ticks = whole if len(whole) > 2 else [t for t in small if down.low <= t <= down.high]
    for tick in ticks:
        y = down.at(tick)
        parts.append(f'<path d="M{LEFT - 3:g} {y:.1f}H{WIDE - RIGHT:g}" stroke="#bbb" '
                     'stroke-width="0.6"/>')  # fmt: skip
        said = f"{10**tick:.0f}" if decades else _number(tick)
        parts.append(_text(LEFT - 6, y + 3.2, said, "end"))
    return "".join(parts)


def _dot(dot: Dot, across: Axis, down: Axis) -> str:
    x, bar = across.at(dot.x), ""
    if dot.bar:
        low, high = down.at(dot.y - dot.bar), down.at(dot.y + dot.bar)
        bar = (
            f'<path d="M{x:.1f} {low:.1f}V{high:.1f}M{x - 4:.1f} {low:.1f}h8M{x - 4:.1f} '
            f'{high:.1f}h8" stroke="#000" stroke-width="0.9"/>'
        )
    return bar + _mark(dot.kind, x, down.at(dot.y))


def _mark(kind: int, x: float, y: float) -> str:
    return MARKS[kind].format(
        x=f"{x:.1f}", y=f"{y:.1f}", l=f"{x - SIZE:.1f}", r=f"{x + SIZE:.1f}",
        t=f"{y - SIZE:.1f}", b=f"{y + SIZE:.1f}",
    )  # fmt: skip


def _number(value: float) -> str:
    return f"{value:.10g}" if abs(value) > 1e-12 else "0"


def _text(x: float, y: float, words: str, anchor: str, *, bold: bool = False) -> str:
    weight = ' font-weight="700"' if bold else ""
    # A white edge keeps the words readable where a line runs through them.
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="9.5" text-anchor="{anchor}"{weight} '
        'stroke="#fff" stroke-width="3" paint-order="stroke">'
        f"{escape(words)}</text>"
    )
