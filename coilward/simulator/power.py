"""Where the amperes come from: supply, the battery behind the pump, what each loss drops.

A part without volts goes where spring, weight or contactor take it, whatever it is told.
"""

from __future__ import annotations

from typing import Any

from coilward.simulator.slots import (
    BATTERY_AH,
    BOARD_A,
    CHARGER,
    CONTACT,
    CONTACT_WELDED,
    DAMPER_FALLS,
    DRAWN_AH,
    DUMP_FAILS_OPEN,
    FAN_A,
    HORN,
    PUMP_A,
    PUMP_BATTERY,
    PUMP_HIGH_A,
    PUMP_STALLED,
    RATED_V,
    RESTING_V,
    SEALS_IN,
    SPEED,
    SUPPLY_OPEN_V,
    SUPPLY_V,
    TOLD_DAMPER,
    TOLD_DUMP,
    TOLD_FANS,
    TOLD_PUMP,
)

Floats = list[float]

SOURCE_OHM = 0.03
"""Battery and wiring (common practice, no source)."""
EMPTY_SAG_SHARE = 0.12
"""A lead-acid battery at rest, full less empty, over its rated voltage (common practice, no
source)."""
STALLED_SHARE = 1.25
"""Current of a rotor held fast, over the high limit of the pump's current."""
LEAST_V = 0.5
"""Share of the rated voltage under which nothing turns and a contactor drops (common practice,
no source)."""


def fed(y: Floats, p: Floats) -> bool:
    """Whether the pump's contact is closed: held by its coil, or welded."""
    return y[CONTACT] > 0.0 or p[CONTACT_WELDED] > 0.0


def powered(y: Floats, p: Floats) -> bool:
    """Whether what hangs on the board's supply has volts."""
    return y[SUPPLY_V] >= LEAST_V * p[RATED_V]


def stalled_a(y: Floats, p: Floats) -> float:
    """Current of a rotor held fast, A; zero of one that turns."""
    if p[PUMP_STALLED] > 0.0 and fed(y, p):
        return STALLED_SHARE * p[PUMP_HIGH_A]
    return 0.0


def supply_v(y: Floats, p: Floats, fan_speed: float, h_s: float) -> float:
    """Voltage under load after a step, V. Without its charger the battery runs down."""
    open_v = p[SUPPLY_OPEN_V]
    if open_v <= 0.0:
        return 0.0
    load_a = p[BOARD_A] + p[PUMP_A] * y[SPEED] + p[FAN_A] * fan_speed + stalled_a(y, p)
    if p[CHARGER] <= 0.0:
        return battery_v(y, p, open_v, load_a, h_s)
    return open_v - SOURCE_OHM * load_a


def battery_v(y: Floats, p: Floats, open_v: float, load_a: float, h_s: float) -> float:
    """Voltage of a battery that nothing charges, V, after a step under load; 0 once empty."""
    y[DRAWN_AH] += load_a * h_s / 3600.0
    if y[DRAWN_AH] >= p[BATTERY_AH]:
        return 0.0
    open_v -= EMPTY_SAG_SHARE * p[RATED_V] * y[DRAWN_AH] / p[BATTERY_AH]
    return open_v - SOURCE_OHM * load_a


def pump_v(y: Floats, p: Floats, h_s: float) -> float:
    """Voltage at the pump's contact after a step without the board's supply, V.

    The battery is the loop's, behind the pump: what the board drew before is gone. A no-volt
    release holds by the pump's own volts, a plain relay by the board's; both drop without.
    """
    volts = y[SUPPLY_V]
    if volts <= 0.0 and p[PUMP_BATTERY] > 0.0:
        load_a = p[PUMP_A] * y[SPEED] + stalled_a(y, p)
        volts = battery_v(y, p, p[RESTING_V], load_a, h_s)
    if p[SEALS_IN] <= 0.0 or volts < LEAST_V * p[RATED_V]:
        y[CONTACT] = 0.0
    return volts


def board_away(y: Any, p: Any) -> None:
    """The board is away: a plain relay drops, a contactor with no-volt release holds.

    The damper falls, where it can, and the dump opens, where it is so built; the horn is the
    board's. Fans stay as they were told, and a thermostat runs them by heat alone.
    """
    y[HORN] = 0.0
    if p[DAMPER_FALLS] > 0.0:
        y[TOLD_DAMPER] = 0.0
    if p[DUMP_FAILS_OPEN] > 0.0:
        y[TOLD_DUMP] = 1.0
    if p[SEALS_IN] <= 0.0:
        y[CONTACT] = y[TOLD_PUMP] = 0.0


def supply_away(y: Any, p: Any) -> None:
    """The board's supply is dead, and the board with it.

    The pump goes on where it has its own battery and a contact that holds by it.
    """
    y[SUPPLY_V] = y[TOLD_FANS] = 0.0
    board_away(y, p)
    if p[PUMP_BATTERY] <= 0.0 or y[DRAWN_AH] >= p[BATTERY_AH]:
        y[CONTACT] = y[TOLD_PUMP] = 0.0
