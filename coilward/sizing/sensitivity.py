"""Which input moves the margins most: each moved within its spread, and the loop derived anew."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Final, NamedTuple

from coilward.loop.derived import derive
from coilward.loop.model import Loop
from coilward.sizing import changing
from coilward.sizing.margins import Margins, margins


class Input(NamedTuple):
    """One input and how far it may be off before anything is measured (common practice)."""

    key: str
    words: str
    spread: str
    unit: str
    """Unit word of a spread in kelvin, metres, ...; empty for a share."""
    by: float
    moved: Callable[[Loop, float], Loop]
    """The loop with the input off by so much, up or down."""


class Effect(NamedTuple):
    """What one input does to the margins, moved down and up."""

    of: Input
    low: Margins
    high: Margins


def _share(change: Callable[[Loop, float], Loop]) -> Callable[[Loop, float], Loop]:
    return lambda loop, off: change(loop, 1 + off)


def _peak(loop: Loop, off: float) -> Loop:
    peak = max(1.0, loop.coil.peak_to_mean * (1 + off))
    return loop.model_copy(
        update={"coil": loop.coil.model_copy(update={"peak_to_mean": peak})}
    )


def _wall(loop: Loop, off_mm: float) -> Loop:
    wall_mm = max(0.1, loop.coil.wall_mm + off_mm)
    coil = loop.coil.model_copy(update={"wall_mm": wall_mm})
    return changing.refitted(loop, loop.model_copy(update={"coil": coil}))


def _fittings(loop: Loop, off: float) -> Loop:
    return changing.refitted(loop, changing.fittings(loop, 1 + off))


def _air(loop: Loop, off_k: float) -> Loop:
    return loop.model_copy(
        update={"room": loop.room.model_copy(update={"air_c": loop.room.air_c + off_k})}
    )


def _altitude(loop: Loop, off_m: float) -> Loop:
    altitude_m = loop.site.altitude_m + off_m
    return loop.model_copy(
        update={"site": loop.site.model_copy(update={"altitude_m": altitude_m})}
    )


def _decay(loop: Loop, off: float) -> Loop:
    return loop.model_copy(update={"fire": changing.scaled(loop.fire, 1 + off, "decay_min")})


def _error(loop: Loop, off_k: float) -> Loop:
    """Both outlet thermometers stated worse or better."""
    pair = {
        name: sensor.model_copy(update={"error_k": max(0.1, sensor.error_k + off_k)})
        for name in ("coil_outlet_a", "coil_outlet_b")
        if (sensor := getattr(loop.sensors, name)) is not None
    }
    return loop.model_copy(update={"sensors": loop.sensors.model_copy(update=pair)})


INPUTS: Final = (
    Input("heat", "heat of the fire", "20 %", "", 0.2, _share(changing.heat)),
    Input("peak", "hottest turn over the mean", "25 %", "", 0.25, _peak),
    Input("flow", "pump and its voltage", "10 %", "", 0.1, _share(changing.flow)),
    Input("radiator", "radiator", "15 %", "", 0.15, _share(changing.radiator)),
    Input("fittings", "loss of the fittings", "30 %", "", 0.3, _fittings),
    Input("coil", "length of the coil", "10 %", "", 0.1, _share(changing.coil)),
    Input("wall", "wall of the coil's tube", "", "mm", 0.1, _wall),
    Input("air", "air round the radiator", "", "k", 5.0, _air),
    Input("altitude", "altitude, or the weather's pressure", "", "m", 200.0, _altitude),
    Input("error", "outlet thermometer's error", "", "k", 1.0, _error),
    Input("tank", "water in the tank", "10 %", "", 0.1, _share(changing.tank)),
    Input("dump", "dump", "20 %", "", 0.2, _share(changing.dump)),
    Input("decay", "decay of the fire", "25 %", "", 0.25, _decay),
)  # fmt: skip
"""Spreads of a loop that is only drawn (common practice, no source)."""


def effects(loop: Loop, today: date) -> tuple[Effect, ...]:
    """Every input moved down and up; those that move nothing are left out."""
    base = margins(loop, derive(loop, today))
    found = []
    for each in INPUTS:
        low, high = (
            margins(moved, derive(moved, today))
            for moved in (each.moved(loop, -each.by), each.moved(loop, each.by))
        )
        if not low == base == high:
            found.append(Effect(each, low, high))
    return tuple(found)


def width(effect: Effect, key: str) -> float:
    """How far an input moves one margin from end to end."""
    low, high = getattr(effect.low, key), getattr(effect.high, key)
    return 0.0 if low == high else abs(float(high - low))
