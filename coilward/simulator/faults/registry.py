"""The registry: every fault by name, in the order in which they are listed to people."""

from __future__ import annotations

from typing import Final

from coilward.loop.model import Loop
from coilward.simulator.faults import (
    actuators,
    fire,
    hydraulics,
    meters,
    people,
    power,
    sensors,
)
from coilward.simulator.faults.fault import Fault, has

FAULTS: Final[dict[str, Fault]] = {
    row.name: row
    for row in sorted(
        (
            row
            for part in (sensors, meters, actuators, hydraulics, fire, power, people)
            for row in part.ROWS
        ),
        key=lambda row: int(row.number[1:]),
    )
}
"""By name. Nights, listings, printed tables and trials all read it here."""


def register(fault: Fault) -> None:
    """Add one more row; it counts from now on wherever faults are listed or tried.

    Raises ValueError where the name is taken.
    """
    if fault.name in FAULTS:
        raise ValueError(f"there is a fault {fault.name} already")
    FAULTS[fault.name] = fault


def forget(name: str) -> None:
    """Take a row out. Raises KeyError for a name that is not there."""
    del FAULTS[name]


def lacking(fault: Fault, loop: Loop) -> str | None:
    """What the loop would have to have for this fault; None where the fault is possible."""
    return None if not fault.needs or has(loop, fault.needs) else fault.needs
