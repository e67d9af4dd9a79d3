"""A picture of lines over time as SVG, told apart by colour and by dash."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from typing import Final, NamedTuple

import numpy as np

from coilward.desk.page import palette as ink
from coilward.desk.page.palette import Stroke
from coilward.desk.page.paper import FONTS
from coilward.desk.page.plot import words
from coilward.desk.page.thin import Numbers, thinned
from coilward.desk.times import clock

WIDE: Final = 718.0
LEFT, RIGHT, BOTTOM, HEAD = 40.0, 8.0, 15.0, 15.0
STRETCHES: Final = 300
SIZE: Final = 9.0


class Drawn(NamedTuple):
    """One line of a picture."""

    words: str
    time_s: Numbers
    values: Numbers
    """NaN breaks the line."""
    stroke: Stroke


class Mark(NamedTuple):
    """A moment with its name beside it."""

    time_s: float
    words: str


def picture(
    title: str, lines: Sequence[Drawn], high: float, *, zero: bool = False, begin_s: float = 0.0,
    marks: Sequence[Mark] = (),
) -> str:  # fmt: skip
    """One chart with its title and legend, ``high`` px high; ``zero`` draws the line at 0."""
    end_s = max(float(each.time_s[-1]) for each in lines)
    known = np.concatenate([each.values[np.isfinite(each.values)] for each in lines])
    low, top = _edges(known)
    name = "clip-" + "".join(filter(str.isalpha, title))
    span_px, tall_px = WIDE - LEFT - RIGHT, high - HEAD - BOTTOM

    def x(time_s: float) -> float:
        return LEFT + span_px * (time_s - begin_s) / (end_s - begin_s)

    def y(value: float) -> float:
        return HEAD + tall_px * (top - value) / (top - low)

    parts = [
        f'<rect x="{LEFT:g}" y="{HEAD:g}" width="{span_px:g}" height="{tall_px:g}" fill="none" '
        f'stroke="{ink.RULE}"/>'
    ]
    for value in _ticks(low, top, 4):
        parts.append(f'<path d="M{LEFT:g} {y(value):.1f}H{WIDE - RIGHT:g}" stroke="{ink.RULE}" '
                     'stroke-width="0.6"/>')  # fmt: skip
        parts.append(words(LEFT - 4, y(value) + 3, f"{value:g}", "end", SIZE))
    for at_s in _ticks(begin_s / 60.0, end_s / 60.0, 8):
        parts.append(words(x(60.0 * at_s), high - 3, clock(60.0 * at_s)[:-3], "middle", SIZE))
    if zero and low < 0.0 < top:
        parts.append(f'<path d="M{LEFT:g} {y(0):.1f}H{WIDE - RIGHT:g}" stroke="{ink.INK}" '
                     'stroke-width="0.8"/>')  # fmt: skip
    parts.append(f'<clipPath id="{name}"><rect x="{LEFT:g}" y="{HEAD:g}" width="{span_px:g}" '
                 f'height="{tall_px:g}"/></clipPath><g clip-path="url(#{name})">')  # fmt: skip
    parts += [_line(each, x, y, end_s) for each in lines]
    parts.append("</g>")
    for number, mark in enumerate(marks):
        at = x(mark.time_s)
        left = at > LEFT + 0.75 * span_px
        parts.append(f'<path d="M{at:.1f} {HEAD:g}V{high - BOTTOM:g}" stroke="{ink.INK}" '
                     'stroke-width="0.8" stroke-dasharray="2 4"/>')  # fmt: skip
        parts.append(words(at - 3 if left else at + 3, HEAD + 0.22 * tall_px + 11 * number,
                           mark.words, "end" if left else "start", SIZE))  # fmt: skip
    parts.append(_legend(title, lines))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {high:g}" role="img" '
        f'font-family="{FONTS}" fill="{ink.INK}"><title>{escape(title)}</title>'
        f"{''.join(parts)}</svg>"
    )


def _line(
    each: Drawn, x: Callable[[float], float], y: Callable[[float], float], end_s: float
) -> str:
    thin = thinned({"time_s": each.time_s, "v": each.values}, ["v"], float(each.time_s[0]),
                   min(end_s, float(each.time_s[-1])), STRETCHES)  # fmt: skip
    pieces, pen = [], "M"
    for at_s, value in zip(thin["time_s"], thin["v"], strict=True):
        if not np.isfinite(value):
            pen = "M"
            continue
        pieces.append(f"{pen}{x(at_s):.1f} {y(value):.1f}")
        pen = "L"
    dash = f' stroke-dasharray="{" ".join(map(str, each.stroke.dash))}"' if each.stroke.dash else ""
    return (
        f'<path d="{"".join(pieces)}" fill="none" stroke="{each.stroke.colour}" '
        f'stroke-width="{each.stroke.width}"{dash}/>'
    )


def _legend(title: str, lines: Sequence[Drawn]) -> str:
    parts = [f'<text x="0" y="10" font-size="10.5" font-weight="700">{escape(title)}</text>']
    at = 8.0 + 6.0 * len(title)
    for each in filter(lambda one: one.words, lines):
        dash = " ".join(map(str, each.stroke.dash))
        parts.append(f'<path d="M{at:.0f} 7h22" stroke="{each.stroke.colour}" stroke-width='
                     f'"{each.stroke.width}" stroke-dasharray="{dash}"/>')  # fmt: skip
        parts.append(words(at + 26, 10, each.words, "start", SIZE))
        at += 40 + 5.0 * len(each.words)
    return "".join(parts)


def _edges(known: Numbers) -> tuple[float, float]:
    if not len(known):
        return 0.0, 1.0
    low, top = (float(edge) for edge in np.percentile(known, [0.2, 99.8]))
    margin = 0.06 * (top - low) or 1.0
    return low - margin, top + margin


def _ticks(low: float, top: float, most: int) -> list[float]:
    step = next(
        (each for each in (0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480)
         if (top - low) / each <= most),
        (top - low) / most,
    )  # fmt: skip
    first = np.ceil(low / step - 1e-9)
    return [float(k * step) + 0.0 for k in np.arange(first, np.floor(top / step + 1e-9) + 1)]
