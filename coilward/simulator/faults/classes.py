"""What each fault takes on one loop: its logic, its hardware, or more than either has."""

from __future__ import annotations

from datetime import date
from typing import Literal

from coilward.loop.derived import derive
from coilward.loop.model import Loop
from coilward.loop.passive import BATTERY_H, WHOLE_FIRE
from coilward.simulator.faults.fault import Fault, has

Class = Literal[
    "logic alone",
    "logic plus hardware that prevents boiling",
    "logic plus hardware that only lets the steam out",
    "hardware only",
    "nothing helps",
]


def class_of(fault: Fault, loop: Loop, counted: frozenset[str]) -> Class:
    """The class of a fault on a loop whose passive devices `counted` count."""
    if fault.base == "nothing":
        return "nothing helps"
    if fault.base == "logic" or (fault.alone_with and has(loop, fault.alone_with)):
        return "logic alone"
    if any(prevents(name, loop, counted) for name in fault.prevents):
        if fault.base == "hardware only":
            return "hardware only"
        return "logic plus hardware that prevents boiling"
    if lets_the_steam_out(loop, counted):
        return "logic plus hardware that only lets the steam out"
    return "nothing helps"


def prevents(name: str, loop: Loop, counted: frozenset[str]) -> bool:
    """Whether a device is there, counts, and is large enough to prevent boiling."""
    if name == "flow_switch":
        # The day only decides which passive devices count.
        return loop.sensors.flow_switch or derive(loop, date.min).rule13_in_window
    if name == "valve_stop" and loop.valve.bypass_lpm > 0.0:
        return True
    if name not in counted:
        return False
    if name in WHOLE_FIRE:
        return (getattr(loop.passive, name).carries_kw or 0.0) >= loop.fire.largest_kw
    if name == "pump_battery":
        lasts_h = loop.power.battery_ah / 2 / (loop.pump.current_a + loop.power.board_a)
        return "no_volt_release" in counted and lasts_h >= BATTERY_H
    return True


def lets_the_steam_out(loop: Loop, counted: frozenset[str]) -> bool:
    """Whether an open vent counts that is not known to be too small for the largest fire."""
    vent = loop.passive.open_vent
    if "open_vent" not in counted or vent is None:
        return False
    return vent.carries_kw is None or vent.carries_kw >= loop.fire.largest_kw
