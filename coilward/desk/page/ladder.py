"""The phase machine as a picture, drawn from its table: a box a phase, an arrow a row.

Every phase hangs its own line under its box; every row of the table is one arrow between the
lines, in the order in which the rows are tried, with its reason at the left. So nothing crosses
or hides anything else, however many rows the table has, and it reads in black and white.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

from coilward.controller.phases import FIRED, PHASES
from coilward.desk.moving import Change, changes
from coilward.desk.page.paper import FONTS

if TYPE_CHECKING:
    from coilward.desk.tripping import Setting

WIDE: Final = 718.0
REASONS: Final = 176.0
"""Width of the column of reasons."""
BOX_HIGH: Final = 34.0
ROW_HIGH: Final = 14.5
STEP: Final = (WIDE - REASONS) / len(PHASES)
INK: Final = "#000"
FAINT: Final = "#8a8a8a"
LETTER: Final = 5.1
"""About the width of a letter at 10 px."""


def ladder(here: Setting) -> str:
    """The picture as SVG."""
    rows = changes(here)
    bottom = BOX_HIGH + 12 + ROW_HIGH * len(rows)
    high = bottom + BOX_HIGH + 26
    parts = [*_lines(bottom), *_boxes(0.5), *_boxes(bottom)]
    for number, change in enumerate(rows):
        middle = BOX_HIGH + 12 + ROW_HIGH * (number + 0.5)
        parts.append(_reason(number + 1, change, middle))
        parts += _arrows(change, middle)
    parts.append(
        _text(0, high - 8, "The first row that matches wins, from the top; no row means staying. "
              "Dot: from here. Arrow: to here. Thick line: a fire may be in.", 9.5)
    )  # fmt: skip
    title = f"Phases of {here.loop.name}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {high:g}" role="img" '
        f'font-family="{FONTS}" fill="{INK}"><title>{escape(title)}</title>'
        f'<rect width="{WIDE:g}" height="{high:g}" fill="#fff"/>{"".join(parts)}</svg>'
    )


def _at(phase: str) -> float:
    """Where a phase's line hangs."""
    return REASONS + STEP * (PHASES.index(phase) + 0.5)


def _lines(bottom: float) -> list[str]:
    found = []
    for index, phase in enumerate(PHASES):
        x = _at(phase)
        thick = index in FIRED
        found.append(
            f'<path d="M{x:.1f} {BOX_HIGH}V{bottom}" stroke="{INK if thick else FAINT}" '
            f'stroke-width="{1.6 if thick else 0.7}"/>'
        )
    return found


def _boxes(top: float) -> list[str]:
    found = []
    for phase in PHASES:
        x, words = _at(phase), phase.split(" ")
        found.append(
            f'<rect x="{x - STEP / 2 + 1.5:.1f}" y="{top}" width="{STEP - 3:.1f}" '
            f'height="{BOX_HIGH}" rx="3" fill="#fff" stroke="{INK}" stroke-width="1.2"/>'
        )
        for line, word in enumerate(words):
            y = top + BOX_HIGH / 2 + 3.2 + 11 * (line - (len(words) - 1) / 2)
            size = min(9.0, (STEP - 6) / len(word) * 10 / LETTER)
            found.append(_text(x, y, word, round(size, 1), "middle"))
    return found


def _reason(number: int, change: Change, middle: float) -> str:
    words = f"{number}  {change.why}"
    size = min(10.0, 10.0 * (REASONS - 8) / (LETTER * len(words)))
    rule = middle + ROW_HIGH / 2
    return (
        _text(0, middle + 3.4, words, round(size, 1))
        + f'<path d="M0 {rule:.1f}H{WIDE:g}" stroke="#ddd" stroke-width="0.5"/>'
    )


def _arrows(change: Change, middle: float) -> list[str]:
    """A dot at every phase it starts from, a line to the target, a head at the target."""
    to = _at(change.target)
    found = []
    for side in (-1, 1):
        starts = [x for x in map(_at, change.sources) if (x - to) * side > 0]
        if not starts:
            continue
        far = max(starts, key=lambda x: abs(x - to))
        near = to + side * 1.0
        found.append(
            f'<path d="M{far:.1f} {middle:.1f}H{near + side * 6:.1f}" stroke="{INK}" '
            f'stroke-width="1.3"/><path d="M{near:.1f} {middle:.1f}l{side * 8} -3.6v7.2z"/>'
        )
        found += [f'<circle cx="{x:.1f}" cy="{middle:.1f}" r="3.1"/>' for x in starts]
    return found


def _text(x: float, y: float, words: str, size: float, anchor: str = "start") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}">'
        f"{escape(words)}</text>"
    )
