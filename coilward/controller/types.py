"""What goes into a tick and what comes out: plain numbers, one type a part.

Temperatures in degrees Celsius, flows in litres a minute, times in seconds. In `Readings`,
NaN means "not known". Switches are 1.0 or 0.0. Masks are whole numbers of at most 62 bits.
"""

from __future__ import annotations

from typing import NamedTuple


class Readings(NamedTuple):
    """One tick of what the board knows."""

    time_s: float
    """Monotonic time of this tick."""
    coil_outlet_a_c: float
    coil_outlet_b_c: float
    tank_c: float
    radiator_inlet_c: float
    radiator_outlet_c: float
    coil_metal_c: float
    flue_c: float
    room_c: float
    line_min_c: float
    """Coldest outdoor pipe."""
    flow_lpm: float
    """From the time between the last two pulses."""
    pulse_age_s: float
    """Time since the last pulse."""
    flow_switch: float
    """A second proof of flow: 1.0 while water moves."""
    pump_a: float
    supply_v: float
    level_low: float
    level_low_low: float
    fan_a: float
    damper_shut: float
    co_ppm: float
    pump_contact: float
    """1.0 while the pump's seal-in contactor is closed."""
    outage_s: float
    """How long the board was off before its last start; NaN when not known."""
    vent_wet: float
    """1.0 while the open end of the vent or relief discharges."""
    smoke: float
    """1.0 while heat or smoke is detected outside the firebox."""
    constants_ok: float
    """1.0 if the constants and the program on the board belong to this loop, 0.0 if not.

    A board can always tell: not known counts as not.
    """


class Requests(NamedTuple):
    """What a person asks in this tick. Buttons are true while held."""

    prepare: bool = False
    lit: bool = False
    finish: bool = False
    silence: bool = False
    reset: bool = False
    emergency: bool = False
    declare_out: bool = False
    """A person at the board declares the fire out and the metal cold."""
    remote_unsafe: bool = False
    """A remote or manual request toward the unsafe side (pump off, valve shut, reset...)."""
    key: bool = False
    """The key at the board is turned: maintenance, and resets beyond the usual number."""
    hand_pump: bool = False
    """By hand, while held: the pump runs."""
    hand_valve: bool = False
    """By hand, while held: the valve opens; in maintenance it goes to its stop."""
    hand_fans: bool = False
    """By hand, while held: the fans run full."""
    hand_dump: bool = False
    """By hand, while held: the dump opens."""
    hand_damper: bool = False
    """By hand, while held: the damper shuts; in maintenance it opens."""


class Commands(NamedTuple):
    """What the outputs are told."""

    pump: bool
    valve: float
    """Stroke, 0 shut to 1 open."""
    fans: float
    """0 off to 1 full."""
    damper_open: bool
    dump_open: bool
    horn: int
    """0 silent, 1 beep, 2 intermittent, 3 continuous."""
    may_light: bool
