"""What the bench needs to know of a row: its limit in this loop, whether it is at work."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from coilward.controller.constants import Fitted
from coilward.controller.interlocks import Row
from coilward.controller.types import Commands
from coilward.loop.derived import Derived


def limit_s(row: Row, derived: Derived) -> float:
    """From the true cause to the moving actuator at most, s, without the lag of a thermometer.

    The refill window follows the fire: at the largest it is shortest.
    """
    if row.limit_s == "refill_window":
        return derived.window_largest_s
    if row.limit_s == "low_flow_total_s":
        return derived.low_flow_total_s
    return float(row.limit_s)


_CHANNELS: Final[dict[str, Callable[[Fitted], bool]]] = {
    "metal": lambda fitted: fitted.metal,
    "level": lambda fitted: fitted.level,
    "line": lambda fitted: fitted.line,
    "current": lambda fitted: fitted.current,
    "co": lambda fitted: fitted.co,
    "smoke": lambda fitted: fitted.smoke,
    "vent": lambda fitted: fitted.vent,
    "damper": lambda fitted: fitted.damper_switch,
    "radiator": lambda fitted: fitted.radiator_outlet,
    "people": lambda fitted: fitted.tub or fitted.room,
}
MEASURED: Final[dict[str, str]] = {
    "metal": "coil metal", "co": "carbon monoxide", "vent": "wet vent", "line": "outdoor line",
    "damper": "shut damper", "radiator": "radiator outlet", "people": "room air",
    "current": "pump current", "level": "tank level",
}  # fmt: skip
"""What is not measured, where a row is not at work."""
_ALSO: Final[dict[str, tuple[str, Callable[[Fitted], bool]]]] = {
    "C10": ("coil metal", lambda fitted: fitted.metal),
    "C21": ("fan current", lambda fitted: fitted.fan_current),
}


def absent(row: Row, fitted: Fitted) -> str:
    """What this loop does not have and the row hangs on; empty where the row is at work."""
    if row.hangs_on in _CHANNELS and not _CHANNELS[row.hangs_on](fitted):
        return MEASURED.get(row.hangs_on, row.hangs_on)
    if row.name in _ALSO and not _ALSO[row.name][1](fitted):
        return _ALSO[row.name][0]
    return ""


LEAST_FANS: Final = {"full": 1.0, "half": 0.5}


def done(row: Row, commands: Commands) -> tuple[bool, ...]:
    """Of each output, whether it does what the row asks; a hold asks for no move."""
    fans = commands.fans == 0.0 if row.fans == "off" else (
        commands.fans >= LEAST_FANS.get(row.fans, 0.0)
    )
    return (
        row.pump == "=" or commands.pump == (row.pump == "on"),
        row.valve != "open" or commands.valve == 1.0,
        fans,
        row.damper == "=" or not commands.damper_open,
        row.dump != "open" or commands.dump_open,
        commands.horn >= row.horn,
    )


def arrived(row: Row, commands: Commands, expected: Commands) -> bool:
    """Whether the outputs do all that the row asks of them.

    What a higher tier takes from it at the reference, too, is not waited for.
    """
    pairs = zip(done(row, commands), done(row, expected), strict=True)
    return all(does or not should for does, should in pairs)
