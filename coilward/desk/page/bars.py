"""Which input moves which margin: a bar for each, from less of it to more of it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

from coilward.desk.page import palette as ink
from coilward.desk.page.paper import FONTS
from coilward.desk.page.plot import Axis, ticks, words
from coilward.desk.size_words import spread
from coilward.loop.units import convert
from coilward.sizing.margins import Margins, names, value
from coilward.sizing.sensitivity import width

if TYPE_CHECKING:
    from coilward.desk.size import Sums
    from coilward.sizing.sensitivity import Effect
    from coilward.sizing.sized import Sized

WIDE: Final = 718.0
NAMES: Final = 196.0
TOP: Final = 44.0
ROW_HIGH: Final = 13.0
GAP: Final = 14.0


class Panel(NamedTuple):
    """One margin's column."""

    key: str
    words: str
    axis: Axis
    left: float
    right: float

    def x(self, number: float) -> float:
        """Place of a margin; what never comes lies at the right edge."""
        low, high = self.axis.low, self.axis.high
        share = 1.0 if math.isinf(number) else (number - low) / (high - low)
        return self.left + (self.right - self.left) * min(1.0, max(0.0, share))


def effect_bars(sums: Sums) -> str:
    """The picture as SVG."""
    sized = sums.sized
    panels = _panels(sized)
    effects = sorted(sized.effects, key=lambda each: -_weight(each, panels))
    bottom = TOP + ROW_HIGH * len(effects)
    parts = []
    for panel in panels:
        parts += _scale(panel, sized, bottom)
    for number, effect in enumerate(effects):
        y = TOP + ROW_HIGH * (number + 0.5)
        told = f"{effect.of.words} {spread(effect.of, sized.system)}"
        parts.append(words(NAMES - 8, y + 3.2, told, "end", 9))
        for panel in panels:
            parts += _bar(panel, effect, sized.margins, y)
    high = bottom + 18
    parts.append(
        words(NAMES, high - 4, "hollow: less of it; filled: more of it; thin line: as typed; "
              "thick line: nothing left", size=9)
    )  # fmt: skip
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {high:g}" role="img" '
        f'font-family="{FONTS}" fill="{ink.INK}"><title>What moves the margins</title>'
        f"{''.join(parts)}</svg>"
    )


def _panels(sized: Sized) -> list[Panel]:
    told = names(sized.loop)
    wide = (WIDE - NAMES - GAP * (len(told) - 1) - 8) / len(told)
    found = []
    for number, (key, (said, unit)) in enumerate(told.items()):
        ends = [value(sized.margins, key)]
        for each in sized.effects:
            ends += [value(each.low, key), value(each.high, key)]
        finite = [end for end in ends if math.isfinite(end)] or [0.0]
        low, high = min(0.0, *finite, 0.0), max(1.0, *finite, 1.0)
        left = NAMES + number * (wide + GAP)
        found.append(
            Panel(key, said, Axis(said, unit, low, high + 0.06 * (high - low)), left, left + wide)
        )
    return found


def _weight(effect: Effect, panels: list[Panel]) -> float:
    """How far an input reaches over all the margins, each on its own scale."""
    return sum(
        min(1.0, abs(panel.x(value(effect.high, panel.key)) - panel.x(value(effect.low, panel.key)))
            / (panel.right - panel.left))
        for panel in panels
    )  # fmt: skip


def _scale(panel: Panel, sized: Sized, bottom: float) -> list[str]:
    unit = convert(0.0, panel.axis.unit, sized.system)[1]
    first, _, rest = f"{panel.words}, {unit}".partition(", ")
    parts = [words(panel.left, 10, first, size=9, bold=True), words(panel.left, 21, rest, size=9)]
    for number, written in ticks(panel.axis, sized.system, 4):
        x = panel.x(number)
        parts.append(f'<path d="M{x:.1f} {TOP - 4:g}V{bottom:g}" stroke="{ink.RULE}"/>')
        parts.append(words(x, TOP - 8, written, "middle", 9))
    zero, now = panel.x(0.0), panel.x(value(sized.margins, panel.key))
    parts.append(f'<path d="M{zero:.1f} {TOP - 4:g}V{bottom:g}" stroke="#000" stroke-width="2.4"/>')
    parts.append(f'<path d="M{now:.1f} {TOP - 4:g}V{bottom:g}" stroke="#000" stroke-width=".9"/>')
    return parts


def _bar(panel: Panel, effect: Effect, base: Margins, y: float) -> list[str]:
    if not width(effect, panel.key):
        return []
    now = panel.x(value(base, panel.key))
    parts = []
    for end, fill in ((effect.low, "#fff"), (effect.high, ink.NAVY)):
        x = panel.x(value(end, panel.key))
        left, wide = min(now, x), abs(x - now)
        parts.append(
            f'<rect x="{left:.1f}" y="{y - 4:.1f}" width="{wide:.1f}" height="8" fill="{fill}" '
            f'stroke="{ink.NAVY}"/>'
        )
    return parts
