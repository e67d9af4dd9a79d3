"""The words of the sums that console and page share."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from coilward.loop.units import System, convert, show
from coilward.sizing.margins import names, value

if TYPE_CHECKING:
    from coilward.desk.size import Sums, Told
    from coilward.sizing.margins import Margins
    from coilward.sizing.remedies import Remedy
    from coilward.sizing.row import Row
    from coilward.sizing.sensitivity import Input


def shown(row: Row, system: System) -> str:
    """A number for a person, or the word that stands for it."""
    return row.words or show(row.value, row.unit, system)


def amount(number: float, unit: str, system: System) -> str:
    """A margin; what the loop never comes to is said so."""
    return "never" if math.isinf(number) else show(number, unit, system)


def margin(of: Margins, key: str, unit: str, system: System) -> str:
    """One margin for a person."""
    return amount(value(of, key), unit, system)


def spread(of: Input, system: System) -> str:
    """How far an input is moved, "± 20 %"."""
    if not of.unit:
        return f"± {of.spread}"
    return f"± {show(of.by, of.unit, system)}"


def answer(told: Sums) -> str:
    """The sums in one or two sentences."""
    sized = told.sized
    system, largest = sized.system, sized.derived.settled.largest
    still_s = sized.margins.still_s
    left = sized.margins.outlet_k
    if largest.outlet_c >= sized.derived.coil_boil_c:
        return "With the largest fire held the coil boils, although water flows."
    side = "under" if left >= 0 else "OVER"
    return (
        f"With the largest fire held the outlet is {show(largest.outlet_c, 'c', system)}, "
        f"{show(abs(left), 'k', system)} {side} the allowed. If the pump dies then, the coil boils "
        f"after {show(still_s, 's', system)}."
    )


def step(remedy: Remedy) -> str:
    """How large a change is."""
    return f"x {remedy.factor:g}"


def helps(remedy: Remedy, forbidden: bool) -> str:
    """Whether a change is enough alone."""
    if remedy.enough:
        return "ENOUGH alone" if forbidden else "not needed"
    left = ", ".join(remedy.left)
    return f"not enough: {left}" if forbidden else f"does HARM: {left}"


def conclusion(told: Sums) -> str:
    """What to buy next, in one sentence."""
    if not told.found.stops:
        return (
            "Nothing forbids a fire on this loop; the first step of each change is told, to see "
            "what would leave more room."
        )
    enough = [f"{each.words} ({step(each)})" for each in told.sized.remedies if each.enough]
    if enough:
        return f"Enough alone to turn the verdict: {'; or '.join(enough)}."
    stubborn = [each.key for each in told.found.every if each.severity == "stop"]
    return (
        "NONE of these changes is enough alone. What forbids a fire: "
        f"{', '.join(dict.fromkeys(stubborn))}."
    )


def verdicts(told: Told) -> str:
    """What became of the verdict against the other loop."""
    before, after = told.before, told.after
    if before is None:
        return ""
    old, new = before.found.stops, after.found.stops
    if bool(old) == bool(new):
        same = f"{new} forbid a fire, {old} before" if new else "neither loop is forbidden a fire"
        return f"The verdict is the same: {same}."
    if new:
        return f"The verdict is WORSE: {new} findings forbid a fire, none before."
    return f"The verdict is better: nothing forbids a fire, {old} findings did before."


def worse_findings(told: Told) -> list[str]:
    """What is said against the loop, and was not against the other."""
    if told.before is None:
        return []
    known = {finding.key for finding in told.before.found.every}
    return [
        f"{finding.severity}: {finding.text}"
        for finding in told.after.found.every
        if finding.key not in known
    ]


def margin_heads(told: Sums) -> list[tuple[str, str, str]]:
    """Key, words with the unit, and unit word of every margin that this loop has."""
    system = told.sized.system
    return [
        (key, f"{words}, {convert(0.0, unit, system)[1]}", unit)
        for key, (words, unit) in names(told.sized.loop).items()
    ]


def minutes(seconds: float) -> str:
    """A time in minutes or hours, no finer than it can be known."""
    if math.isinf(seconds):
        return "never"
    if math.isnan(seconds):
        return "–"
    if seconds <= 0:
        return "at once"
    return f"{seconds / 60:.0f} min" if seconds < 5940 else f"{seconds / 3600:.1f} h"


def seconds(time_s: float) -> str:
    """A short time."""
    return "–" if math.isnan(time_s) else f"{time_s:.1f} s"
