"""What a board does by itself: its dead-man, its own range trips, its safe outputs.

Silence is never a command. A board that hears nothing for `SILENT_S`, or whose own thermometers
stand over what they may, puts its outputs to the safer side and keeps the pump as it is: it must
never stop water over a fire, nor start it into a coil that may be dry.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from coilward.controller.types import Commands, Readings

SILENT_S = 2.0
HOT_TICKS = 3
"""A reading that is too hot counts when it has been so for this many ticks."""
OUTLET_MOST_C, TANK_MOST_C = 95.0, 90.0
"""Where nobody has told the board better (common practice, no source)."""
CONTINUOUS = 3


def safe(last: Commands) -> Commands:
    """The outputs of a board that is alone, from those that it had.

    Damper shut, fans full, horn on, no permission. While the pump runs valve and dump open; with
    the pump off both stay, because cold water let into a dry, hot coil flashes to steam.
    """
    return Commands(
        pump=last.pump,
        valve=1.0 if last.pump else last.valve,
        fans=1.0,
        damper_open=False,
        dump_open=last.dump_open or last.pump,
        horn=CONTINUOUS,
        may_light=False,
    )


class OwnTrips:
    """The board's own eyes on its hottest readings."""

    def __init__(
        self, outlet_most_c: float = math.nan, tank_most_c: float = math.nan
    ) -> None:
        """Limits that are not known are the board's own."""
        self.outlet_most_c = outlet_most_c if outlet_most_c == outlet_most_c else OUTLET_MOST_C
        self.tank_most_c = tank_most_c if tank_most_c == tank_most_c else TANK_MOST_C
        self._hot = 0

    @property
    def limits_c(self) -> tuple[float, float]:
        """Outlet and tank."""
        return self.outlet_most_c, self.tank_most_c

    def hot(self, readings: Readings) -> bool:
        """Whether anything has been too hot for long enough; call it once a tick."""
        outlets = (readings.coil_outlet_a_c, readings.coil_outlet_b_c)
        too_hot = over(outlets, self.outlet_most_c) or over((readings.tank_c,), self.tank_most_c)
        self._hot = self._hot + 1 if too_hot else 0
        return self._hot >= HOT_TICKS


def over(values_c: Sequence[float], most_c: float) -> bool:
    """Whether any value that is known is over its limit."""
    return any(value > most_c for value in values_c)


class DeadMan:
    """Counts the silences of one session."""

    def __init__(self) -> None:
        """Nothing was heard yet, and nothing is to be missed."""
        self.count = 0
        self._heard_s: float | None = None
        self._acted = False

    def begin(self) -> None:
        """A new session: it counts from none."""
        self.count, self._heard_s, self._acted = 0, None, False

    def heard(self, now_s: float) -> None:
        """A line of the plant has come."""
        self._heard_s, self._acted = now_s, False

    def acts(self, now_s: float) -> bool:
        """Whether the silence has just become too long: true once in each."""
        if self._acted or self._heard_s is None or now_s - self._heard_s < SILENT_S:
            return False
        self.count += 1
        self._acted = True
        return True
