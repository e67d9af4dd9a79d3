"""What trips each interlock in one loop, in words and with that loop's own numbers.

A row whose cause has no number of the loop in it, or that is not known here, is told in the
words of the row itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from coilward.controller import interlocks
from coilward.controller.causing import (
    APART_K,
    CO_PPM,
    CORE_FREEZING_C,
    FANS_UP_S,
    FREEZING_C,
    REBOOTS_S,
    REST_LPM,
    SHORT_S,
    THAWED_C,
    UNDER_S,
    WEAK_S,
)
from coilward.controller.constants import debounce_s
from coilward.controller.sensing import TRUSTED_LPM
from coilward.desk.times import span
from coilward.hil.bench import rows
from coilward.loop.units import System, show

if TYPE_CHECKING:
    from coilward.controller.constants import Constants
    from coilward.controller.interlocks import Row
    from coilward.loop.derived import Derived
    from coilward.loop.model import Loop


@dataclass(frozen=True)
class Setting:
    """One loop with the numbers that its logic runs on, as a person reads them."""

    loop: Loop
    derived: Derived
    constants: Constants
    system: System

    def temperature(self, at_c: float) -> str:
        """A temperature."""
        return show(at_c, "c", self.system)

    def difference(self, by_k: float) -> str:
        """A difference of temperatures."""
        return show(by_k, "k", self.system)

    def flow(self, of_lpm: float) -> str:
        """A flow."""
        return show(of_lpm, "lpm", self.system)


def _current(here: Setting) -> str:
    low, high = here.constants.power.pump_low_a, here.constants.power.pump_high_a
    return f"under {show(low, 'a', here.system)} or over {show(high, 'a', here.system)}"


def _short(here: Setting) -> str:
    return (
        f"the minimum flow is over {here.flow(here.derived.flow_open_lpm)} for {SHORT_S:g} s, or "
        f"not reached {UNDER_S:g} s after full opening"
    )


def _fan_lost(here: Setting) -> str:
    low_a, high_a = here.constants.power.fan_low_a, here.constants.reckoned.fans_least_a
    return f"fans draw {low_a:.1f} to {high_a:.1f} A, {FANS_UP_S:g} s after they were switched on"


def _fans_lost(here: Setting) -> str:
    low = show(here.constants.power.fan_low_a, "a", here.system)
    return f"fans draw under {low}, or the radiator gives half its heat for {WEAK_S:g} s"


def _window(here: Setting) -> str:
    derived = here.derived
    return (
        f"{span(derived.window_nominal_s)} at the usual fire, {span(derived.window_largest_s)} "
        "at the largest"
    )


def _share(name: str) -> Callable[[Setting], str]:
    return lambda here: f"{100 * getattr(here.loop.tank, name):.0f} % of the tank"


NUMBERS: Final[dict[str, Callable[[Setting], str]]] = {
    "C01": lambda here: f"under {here.flow(TRUSTED_LPM)}, or no pulse for "
    f"{here.derived.pulse_timeout_s:.1f} s",
    "C02": _current,
    "C03": lambda here: here.temperature(here.derived.outlet_dump_c),
    "C04": lambda here: here.temperature(here.derived.outlet_hh_c),
    "C05": lambda here: here.temperature(here.derived.tank_trip_c),
    "C06": lambda here: here.temperature(here.derived.tank_hh_c),
    "C07": _short,
    "C08": lambda here: show(here.derived.outlet_rate_limit_k_s, "k_s", here.system),
    "C09": lambda here: here.temperature(here.derived.metal_high_c),
    "C10": lambda here: here.temperature(here.derived.metal_dry_c),
    "C11": _window,
    "C12": _window,
    "C13": lambda here: f"they differ by more than {here.difference(APART_K)}",
    "C16": lambda here: f"over {here.flow(REST_LPM)} at rest, with the fire out",
    "C21": _fan_lost,
    "C22": _fans_lost,
    "C23": _share("low"),
    "C24": _share("low_low"),
    "C26": lambda here: f"{here.temperature(FREEZING_C)}, until {here.temperature(THAWED_C)}",
    "C27": lambda _: f"{CO_PPM:g} ppm",
    "C29": lambda here: show(here.constants.reckoned.supply_low_v, "v", here.system),
    "C38": lambda here: ("tub at " if here.constants.fitted.tub else "room at ")
    + here.temperature(here.constants.limits.people_c),
    "C39": lambda here: here.temperature(CORE_FREEZING_C),
    "C40": lambda _: f"within {span(REBOOTS_S)}",
}
"""This loop's own numbers, by row."""


def trip(row: Row, here: Setting) -> str:
    """The cause with this loop's numbers, such as "outlet at its dump trip: 77.7 °C"."""
    numbers = NUMBERS.get(row.name)
    return f"{row.cause}: {numbers(here)}" if numbers else row.cause


def waits_s(row: Row, here: Setting) -> float:
    """For how long the cause must last, s: whole ticks, never less than asked for."""
    tick_s = here.loop.tick_s
    asked_s = debounce_s(row.debounce_s, here.derived)
    return max(1, math.ceil(asked_s / tick_s - 1e-9)) * tick_s


def limit_s(row: Row, here: Setting) -> float:
    """The row's limit in this loop, s; see `coilward.hil.bench.rows`."""
    return rows.limit_s(row, here.derived)


def limit(row: Row, here: Setting) -> str:
    """The limit in words."""
    shortest = span(limit_s(row, here))
    return f"{shortest} at the largest fire" if row.limit_s == "refill_window" else shortest


HORN: Final = ("silent", "beep", "intermittent", "continuous")
LEADS_TO: Final[dict[str, str]] = {
    "dry": "dry lock-out", "no-flow": "no-flow fault", "shutdown": "shutdown",
    "degraded": "degraded run", "dump": "overheat dump", "stay": "the phase it is in",
}  # fmt: skip
LATCHES: Final[dict[str, str]] = {
    "no": "goes by itself", "person": "until a person resets it",
    "dry": "until the fire is out, the metal cold, the coil full, and a person resets it",
}  # fmt: skip
ACTUATORS: Final = ("pump", "valve", "fans", "damper", "dump")


def effects(row: Row) -> list[tuple[str, str]]:
    """What the row does to each actuator; one that it leaves alone is left out."""
    found = [(name, getattr(row, name)) for name in ACTUATORS]
    return [(name, code) for name, code in found if code != "="] + [("horn", HORN[row.horn])]


def absent(row: Row, here: Setting) -> str:
    """What this loop does not have and the row hangs on; empty where the row is at work."""
    return rows.absent(row, here.constants.fitted)


def every() -> tuple[Row, ...]:
    """The rows as they are now, one added at run time among them."""
    return tuple(interlocks.ROWS)
