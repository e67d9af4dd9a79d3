"""Numbers and lengths of time as the page writes them: round, because they are read from afar."""

from __future__ import annotations

import math

from coilward.loop.units import System, convert, show


def whole(value: float, unit: str, system: System) -> str:
    """A number without decimals, "24 K"; words where it is not a number."""
    if not math.isfinite(value):
        return show(value, unit, system)
    number, word = convert(value, unit, system)
    return f"{number:.0f} {word}".replace("-0 ", "0 ")


def about(seconds: float) -> str:
    """A length of time that is only an estimate: "41 s", "12 min", "1 h 20 min"."""
    if math.isnan(seconds):
        return "not known"
    if math.isinf(seconds):
        return "never"
    if seconds < 99.5:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(5 * round(minutes / 5), 60)
    return f"{hours} h {rest:02d} min" if rest else f"{hours} h"


def per_hour(k_s: float, system: System) -> str:
    """A slope of a temperature an hour, without its sign."""
    number, word = convert(abs(k_s) * 3600, "k", system)
    return f"{number:.1f} {word}/h" if number < 10 else f"{number:.0f} {word}/h"
