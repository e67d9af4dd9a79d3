"""The worst margin of every fault as a picture: a dot on a scale of kelvin, boiling at zero."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING, Final

from coilward.desk.classes import TRIED, WORDS
from coilward.desk.page.paper import FONTS
from coilward.loop.units import System, convert

if TYPE_CHECKING:
    from coilward.proving.proof import Proof, RowResult, Status

WIDE: Final = 718.0
NAMES: Final = 150.0
WORD: Final = 140.0
ROW_HIGH: Final = 12.0
TOP: Final = 26.0
MOST: Final = 66
"""Rows of one picture: what one side of paper has room for."""
MARKS: Final[dict[Status, str]] = {
    "passed": '<circle cx="{x}" cy="{y}" r="3.6" fill="#000"/>',
    "escaped": '<path d="M{l} {t}L{r} {b}M{l} {b}L{r} {t}" stroke="#000" stroke-width="2.4"/>',
    "boils": '<path d="M{l} {t}L{r} {b}M{l} {b}L{r} {t}" stroke="#000" stroke-width="2.4"/>',
    "invalid": '<path d="M{l} {y}H{r}M{x} {t}V{b}" stroke="#000" stroke-width="1.2"/>',
    "lets the steam out": '<path d="M{x} {t}L{r} {b}H{l}z" fill="#fff" stroke="#000" '
    'stroke-width="1.3"/>',
    "held by hardware": '<path d="M{l} {t}H{r}V{b}H{l}z" fill="#fff" stroke="#000" '
    'stroke-width="1.3"/>',
    "not survivable": '<path d="M{x} {t}L{r} {b}H{l}z" fill="#000" stroke="#000" '
    'stroke-width="1.3"/>',
}
"""A shape a status; the word stands at the right as well."""


def shown_k(row: RowResult) -> float:
    """Where the dot stands: at boiling for what boiled."""
    return 0.0 if row.boiled else (row.margin_k or 0.0)


def margins_pictures(proof: Proof, system: System) -> list[str]:
    """One or more pictures as SVG, the smallest margin first; none where nothing was hot."""
    rows = [
        row
        for row in proof.rows
        if row.status in TRIED and (row.boiled or row.margin_k is not None)
    ]
    rows.sort(key=lambda row: (shown_k(row), row.fault))
    top_k = max((shown_k(row) for row in rows), default=0.0)
    return [
        _picture(rows[first : first + MOST], max(top_k, 5.0), system)
        for first in range(0, len(rows), MOST)
    ]


def _picture(rows: Sequence[RowResult], top_k: float, system: System) -> str:
    bottom = TOP + ROW_HIGH * len(rows)
    high = bottom + 6
    factor, unit = convert(1.0, "k", system)
    step = _step(top_k * factor)
    count = math.ceil(top_k * factor / step - 1e-9)
    scale = (WIDE - NAMES - WORD - 16) / (count * step)
    left = NAMES + 8
    parts = [
        f'<text x="{left:g}" y="9" font-size="9.5" text-anchor="middle" font-weight="700">boiling'
        "</text>",
        f'<path d="M{left:g} 12V{bottom:g}" stroke="#000" stroke-width="2.2"/>',
    ]
    for tick in range(count + 1):
        x = left + scale * tick * step
        if tick:
            parts.append(f'<path d="M{x:.1f} {TOP - 4:g}V{bottom:g}" stroke="#bbb" '
                         'stroke-width="0.6"/>')  # fmt: skip
            parts.append(_text(x, TOP - 8, f"{tick * step:g}", "middle"))
    parts.append(_text(NAMES - 4, TOP - 8, f"{unit} under", "end"))
    for number, row in enumerate(rows):
        y = TOP + ROW_HIGH * (number + 0.5)
        x = left + scale * shown_k(row) * factor
        parts.append(_text(NAMES - 4, y + 3.2, row.fault, "end"))
        parts.append(f'<path d="M{left:g} {y:.1f}H{x:.1f}" stroke="#000" stroke-width="0.9"/>')
        parts.append(_mark(row.status, x, y))
        word = WORDS[row.status].word
        said = word if row.boiled else f"{shown_k(row) * factor:.1f}  {word}"
        parts.append(_text(WIDE - WORD + 4, y + 3.2, said, "start"))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {high:g}" role="img" '
        f'font-family="{FONTS}"><title>Worst margins to boiling</title>{"".join(parts)}</svg>'
    )


def _step(span: float) -> float:
    """A round step that gives at most eight of them."""
    return next(each for each in (1, 2, 5, 10, 20, 50, 100, 1000) if span / each <= 8)


def _mark(status: Status, x: float, y: float) -> str:
    size = 3.6
    return MARKS[status].format(
        x=f"{x:.1f}", y=f"{y:.1f}", l=f"{x - size:.1f}", r=f"{x + size:.1f}",
        t=f"{y - size:.1f}", b=f"{y + size:.1f}",
    )  # fmt: skip


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="9" text-anchor="{anchor}">'
        f"{escape(words)}</text>"
    )
