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
    """Largest deviation as a share."""
    why: str
    channels: tuple[int, ...] = ()
    lag: bool = False
    """Of a thermometer: its lag, not its reading."""
    kelvin: float = 0.0
    """Of a reading: the spread is this much, or, below zero, the stated error less this much."""


def _row(name: str, slots: tuple[int, ...], spread: float, why: str) -> Tolerance:
    return Tolerance(name, slots, spread, why + " (common practice, no source)")


def _reading(channel: int) -> Tolerance:
    why = "the check before a fire holds thermometers to within 1 K of each other"
    name = f"{at.CHANNELS[channel]} reading"
    return Tolerance(name, (), 0.0, why, (channel,), kelvin=APART_K)


def _lag(channel: int) -> Tolerance:
    why = "paste, pocket and clamp (common practice, no source)"
    return Tolerance(f"{at.CHANNELS[channel]} lag", (), 0.25, why, (channel,), lag=True)


APART_K: Final = 0.45
_OF_THE_LOOP: Final = (at.OUTLET_A, at.OUTLET_B, at.TANK, at.RADIATOR_INLET, at.RADIATOR_OUTLET)
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
    Tolerance("thermometers together", (), 0.0, "the loop file states their error", _OF_THE_LOOP,
              kelvin=-APART_K),
    *(_reading(channel) for channel in _OF_THE_LOOP),
    *(_lag(channel) for channel in (at.OUTLET_A, at.OUTLET_B, at.TANK)),
)  # fmt: skip
"""In the order in which they are drawn. A number that is zero or infinite stays so."""


def deviate(p: Floats, loop: Loop, deviations: Sequence[float]) -> None:
    """Move the sound plant's parameters; -1 to 1 is a place in the spread of each row."""
    for tolerance, deviation in zip(TOLERANCES, deviations, strict=True):
        off = tolerance.spread * deviation
        for slot in tolerance.slots:
            p[slot] *= 1.0 + off
        for channel in tolerance.channels:
            sensor: Thermometer | None = getattr(loop.sensors, at.CHANNELS[channel])
            if sensor is None:
                continue
            if tolerance.lag:
                set_lag(p, channel, loop.tick_s, sensor.lag_s * (1.0 + off))
            else:
                p[at.OFFSET_K_ + channel] += deviation * off_k(tolerance, sensor.error_k)


def off_k(tolerance: Tolerance, error_k: float) -> float:
    """How far a reading is off at the most, K."""
    if tolerance.kelvin < 0.0:
        return max(error_k + tolerance.kelvin, 0.0)
    return min(tolerance.kelvin, error_k)
