"""What would change in the loop file, and the loop with these changes."""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

from pydantic import ValidationError

from coilward.learning.learned import Learned, Told
from coilward.loop.editing import Change as Edit
from coilward.loop.fields import field_at
from coilward.loop.model import Line, Loop
from coilward.loop.sums import freeze
from coilward.loop.units import Section

SAID_ONLY: Final = ("radiator.fill", "lines.hot.fill")
"""What the loop file has no key for: it follows there from lengths and volumes."""


class Change(NamedTuple):
    """One key of the loop file and its new value."""

    key: str
    was: str
    now: str
    """Both as they are typed in the file, with their unit."""
    place: tuple[str, ...]
    value: float
    digits: int
    """Significant ones: no more than its doubt leaves."""

    @property
    def edit(self) -> Edit:
        """The same for the text of a loop file."""
        return Edit(self.key, self.value, self.digits)


def changes(learned: Learned) -> list[Change]:
    """Every told number whose interval leaves the file's value out, as keys of the file.

    The largest heat is only ever raised: that a fire was small on one day says nothing of what
    it can be.
    """
    found = []
    for told in learned.numbers:
        if _differs(learned, told):
            change = _change(learned.loop, told)
            if change is not None:
                found.append(change)
    seen_kw = learned.largest_w / 1e3
    if seen_kw > learned.loop.fire.largest_kw:
        found.append(_made(learned.loop, ("fire", "largest"), seen_kw + 0.05, 0.5))
    return [change for change in found if _takes(learned.loop, change)]


def _differs(learned: Learned, told: Told) -> bool:
    """Whether the file's number lies outside; offsets of a thermometer's own steps don't count."""
    if not told.told or told.key in SAID_ONLY or told.low <= told.guess <= told.high:
        return False
    if not told.key.endswith(".offset"):
        return True
    sensor = getattr(learned.loop.sensors, told.key.split(".")[1])
    return bool(abs(told.value - told.guess) > 2.0 * sensor.quantum_k)


def updated(loop: Loop, every: list[Change]) -> Loop:
    """The loop with all changes. Raises ValidationError where a value can't be in a loop file."""
    data = loop.model_dump(exclude_none=True)
    for change in every:
        section: Any = data
        model: Any = Loop
        for part in change.place[:-1]:
            section = section[part]
            model = field_at(Loop, change.place[: change.place.index(part) + 1]).section
        section[_attribute(model, change.place[-1])] = change.value
    return Loop.model_validate(data)


def hot_leg_w_mk(line: Line, loss_w_k: float) -> float | None:
    """Conductivity of the insulation with which a line loses so much; None where none can."""

    def lost_w_k(conductivity: float) -> float:
        resistance = freeze.resistance_mk_w(
            line.inside_diameter_mm, line.outside_diameter_mm, line.wall_w_mk, line.insulation_mm,
            conductivity, line.wind_w_m2k,
        )  # fmt: skip
        return line.length_m / resistance

    low, high = 0.005, 1.0
    if line.insulation_mm <= 0.0 or not lost_w_k(low) < loss_w_k < lost_w_k(high):
        return None
    for _ in range(60):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if lost_w_k(middle) < loss_w_k else (low, middle)
    return high


def _change(loop: Loop, told: Told) -> Change | None:
    if told.key == "lines.hot.loss":
        conductivity = hot_leg_w_mk(loop.lines.hot, told.value)
        place = ("lines", "hot", "insulation_conductivity")
        return None if conductivity is None else _made(loop, place, conductivity, 0.01)
    return _made(loop, tuple(told.key.split(".")), told.value, told.sd)


def _digits(value: float, sd: float) -> int:
    """Significant digits that leave two of the doubt's own."""
    if value == 0.0:
        return 1
    return min(max(_power(value) - _power(max(sd, 1e-6)) + 2, 1), 6)


def _power(value: float) -> int:
    return math.floor(math.log10(abs(value)))


def _made(loop: Loop, place: tuple[str, ...], value: float, sd: float) -> Change:
    digits = _digits(value, sd)
    value = float(f"{value:.{digits}g}")
    quantity = field_at(Loop, place).quantity
    if quantity is None:
        raise ValueError(f"{'.'.join(place)} is no quantity of a loop file")
    section: Any = loop
    for part in place[:-1]:
        section = getattr(section, part)
    was = float(getattr(section, _attribute(type(section), place[-1])))
    return Change(
        ".".join(place), quantity.spell(was), quantity.spell(value), place, value, digits
    )


def _attribute(model: type[Section], key: str) -> str:
    return next(
        name for name, field in model.model_fields.items() if key in (field.alias, name)
    )


def _takes(loop: Loop, change: Change) -> bool:
    try:
        updated(loop, [change])
    except ValidationError:
        return False
    return True
