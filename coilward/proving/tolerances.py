"""How far a real loop may be from its own file: one row a number, with its spread.

A campaign draws a place in every spread for each case. A spread is what a careful builder's
numbers are off by, not a fault: those are rows of the catalogue.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from coilward.loop.model import Loop, Thermometer
from coilward.simulator import slots as at
from coilward.simulator.parameters import Floats, set_lag


class Tolerance(NamedTuple):
    """One number of the loop that is never exactly what the file says."""

    name: str
    slots: tuple[int, ...]
    """Parameters that are off by the same share; none where a thermometer is meant."""
    spread: float
    """Largest deviation as a share. Of a thermometer's reading: of its stated error."""
    why: str
    channel: int = -1
    lag: bool = False
    """Of a thermometer: its lag, not its reading."""


def _row(name: str, slots: tuple[int, ...], spread: float, why: str) -> Tolerance:
    return Tolerance(name, slots, spread, why + " (common practice, no source)")


def _reading(channel: int) -> Tolerance:
    name = f"{at.CHANNELS[channel]} reading"
    return Tolerance(name, (), 1.0, "the loop file states the error", channel)


def _lag(channel: int) -> Tolerance:
    why = "paste, pocket and clamp (common practice, no source)"
    return Tolerance(f"{at.CHANNELS[channel]} lag", (), 0.25, why, channel, lag=True)


_FILM: Final = tuple(range(at.FILM_, at.FILM_ + at.FILM_POINTS))

TOLERANCES: Final = (
    _row("radiator", (at.FANS_ON_W_K, at.FANS_OFF_W_K), 0.10, "dust, and a plate's rounding"),
    _row("dump", (at.DUMP_W_K,), 0.10, "as the radiator"),
    _row("pump head", (at.HEAD0_KPA, at.HEAD1, at.HEAD2), 0.05, "spread of a maker's curve"),
    _row("loop's resistance", (at.LOOP1, at.LOOP2), 0.10, "fittings are estimated"),
    _row("tank's water", (at.LAYER_J_K,), 0.05, "filled by eye"),
    _row("lines' loss", (at.COLD_W_K, at.HOT_W_K, at.BACK_W_K, at.STUB_W_K), 0.30, "wind, wet"),
    _row("room's loss", (at.ROOM_W_K,), 0.20, "doors and wind"),
    _row("film in the coil", _FILM, 0.10, "correlations of turbulent flow are this good"),
    _row("heat caught", (at.GAS_W_K,), 0.10, "soot and ash on the coil"),
    _row("fire's decay", (at.DECAY_S,), 0.25, "the bed differs from load to load"),
    _row("damper's leak", (at.GAS_LEAK,), 0.30, "ash on the seat"),
    _row("pulses a litre", (at.PULSES_PER_L,), 0.03, "a turbine meter's stated error"),
    _row("valve's travel time", (at.TRAVEL_S,), 0.15, "supply and load"),
    _row("valve's backlash", (at.BACKLASH,), 0.5, "wear of the linkage"),
    _row("supply at rest", (at.SUPPLY_OPEN_V,), 0.02, "charge of the battery"),
    _row("pump's current", (at.PUMP_A,), 0.05, "spread of motors"),
    _row("fans' current", (at.FAN_A,), 0.05, "spread of motors"),
    *(_reading(channel) for channel in (at.OUTLET_A, at.OUTLET_B, at.TANK, at.RADIATOR_INLET,
                                        at.RADIATOR_OUTLET, at.METAL)),
    *(_lag(channel) for channel in (at.OUTLET_A, at.OUTLET_B, at.TANK)),
)  # fmt: skip
"""In the order in which they are drawn. A number that is zero or infinite stays so."""


def deviate(p: Floats, loop: Loop, deviations: Sequence[float]) -> None:
    """Move the sound plant's parameters; -1 to 1 is a place in the spread of each row."""
    for tolerance, deviation in zip(TOLERANCES, deviations, strict=True):
        off = tolerance.spread * deviation
        for slot in tolerance.slots:
            p[slot] *= 1.0 + off
        if tolerance.channel < 0:
            continue
        sensor: Thermometer | None = getattr(loop.sensors, at.CHANNELS[tolerance.channel])
        if sensor is None:
            continue
        if tolerance.lag:
            set_lag(p, tolerance.channel, loop.tick_s, sensor.lag_s * (1.0 + off))
        else:
            p[at.OFFSET_K_ + tolerance.channel] += sensor.error_k * off
