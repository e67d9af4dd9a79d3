"""How far a real loop may be from its own file: one row a number, with its spread.

A campaign draws a place in every spread for each case. A spread is what a careful builder's
numbers are off by, not a fault: those are rows of the catalogue.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from coilward.simulator import slots as at


class Tolerance(NamedTuple):
    """One number of the loop that is never exactly what the file says."""

    name: str
    slots: tuple[int, ...]
    """Parameters that move together."""
    spread: float
    """Largest deviation: a share of the number, or kelvin where `added`."""
    why: str
    added: bool = False


def _share(name: str, slots: tuple[int, ...], spread: float, why: str) -> Tolerance:
    return Tolerance(name, slots, spread, why + " (common practice, no source)")


TOLERANCES: Final = (
    _share("radiator", (at.FANS_ON_W_K, at.FANS_OFF_W_K), 0.10, "dust, and a plate's rounding"),
    _share("dump", (at.DUMP_W_K,), 0.10, "as the radiator"),
    _share("pump head", (at.HEAD0_KPA, at.HEAD1, at.HEAD2), 0.05, "spread of a maker's curve"),
    _share("loop's resistance", (at.LOOP1, at.LOOP2), 0.10, "fittings are estimated"),
    _share("tank's water", (at.LAYER_J_K,), 0.05, "filled by eye"),
    _share("lines' loss", (at.COLD_W_K, at.HOT_W_K, at.BACK_W_K, at.STUB_W_K), 0.30, "wind, wet"),
    _share("room's loss", (at.ROOM_W_K,), 0.20, "doors and wind"),
    _share("film in the coil", tuple(range(at.FILM_, at.FILM_ + at.FILM_POINTS)), 0.10,
           "correlations of turbulent flow are this good"),
    _share("pulses a litre", (at.PULSES_PER_L,), 0.03, "a turbine meter's stated error"),
    _share("valve's travel time", (at.TRAVEL_S,), 0.15, "supply and load"),
    _share("valve's backlash", (at.BACKLASH,), 0.5, "wear of the linkage"),
    _share("supply at rest", (at.SUPPLY_OPEN_V,), 0.02, "charge of the battery"),
    _share("pump's current", (at.PUMP_A,), 0.05, "spread of motors"),
    _share("fan's current", (at.FAN_A,), 0.05, "spread of motors"),
    _share("fire's decay", (at.DECAY_S,), 0.25, "the bed differs from load to load"),
)  # fmt: skip
"""Rows, in the order in which they are drawn. A number that is zero or infinite stays so."""
