"""The faults that a night file may name, with the size each takes. Data only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from coilward.loop.model import Loop


@dataclass(frozen=True)
class Fault:
    """One fault of the plant, a sensor, the supply or the board."""

    name: str
    words: str
    """What a person would say had happened."""
    size_meaning: str = ""
    """What `size` sets; empty for a fault that has no size."""
    default_size: float | None = None
    """Used where the file gives no size; None where the fault needs none."""
    lowest: float | None = None
    highest: float | None = None
    needs: str = ""
    """What a loop must have for the fault to be possible, as a dotted path into its file."""


_ROWS: Final = (
    Fault("pump-dies", "the pump stops and stays stopped"),
    Fault("pump-stalls", "the pump's rotor is held fast, drawing its stall current"),
    Fault("pump-weak", "the pump runs slow", "share of the speed that is left", 0.7, 0.3, 0.99),
    Fault("fans-fail", "all fans stop", needs="radiator"),
    Fault("fan-fails", "one fan of the radiator stops", needs="radiator"),
    Fault("valve-jams", "the throttle valve stays where it is, or at a stroke",
          "stroke at which it jams, 0 shut to 1 open", None, 0.0, 1.0),
    Fault("outlet-a-open", "the first outlet thermometer's wire breaks"),
    Fault("outlet-a-frozen", "the first outlet thermometer keeps its last value"),
    Fault("outlet-b-open", "the second outlet thermometer's wire breaks",
          needs="sensors.coil_outlet_b"),
    Fault("outlet-b-frozen", "the second outlet thermometer keeps its last value",
          needs="sensors.coil_outlet_b"),
    Fault("outlet-b-bad-frame", "the second outlet thermometer sends 85.0 degC once",
          needs="sensors.coil_outlet_b"),
    Fault("tank-open", "the tank thermometer's wire breaks"),
    Fault("meter-dead", "the flow meter gives no pulses while water flows"),
    Fault("meter-high", "the flow meter reads high", "reading over true flow", 1.3, 1.01, 3.0),
    Fault("meter-low", "the flow meter reads low", "reading over true flow", 0.8, 0.1, 0.99),
    Fault("current-lost", "the pump's current is no longer measured", needs="sensors.pump_current"),
    Fault("supply-lost", "the supply fails, battery and all"),
    Fault("supply-low", "the supply sags", "volts", 11.0, 6.0, 60.0),
    Fault("charger-lost", "the charger fails; the battery alone carries pump, fans and board"),
    Fault("fire-larger", "the fire is larger than it was described",
          "factor on the heat caught and on the air", 1.5, 1.0, 4.0),
    Fault("damper-stuck", "the air damper stays where it is"),
    Fault("dump-stuck", "the dump valve stays where it is", needs="dump"),
    Fault("level-low", "the tank's level falls under its low mark", needs="sensors.level"),
    Fault("level-low-low", "the tank's level falls under its low-low mark", needs="sensors.level"),
    Fault("board-reboots", "the board restarts"),
    Fault("radiator-outlet-open", "the radiator outlet thermometer's wire breaks",
          needs="sensors.radiator_outlet"),
    Fault("metal-open", "the coil's metal thermocouple breaks", needs="sensors.coil_metal"),
    Fault("flow-switch-open", "the flow switch's wire breaks", needs="sensors.flow_switch"),
    Fault("line-frozen", "an outdoor line is blocked by ice"),
)  # fmt: skip

FAULTS: Final[dict[str, Fault]] = {row.name: row for row in _ROWS}
"""By name, in the order in which they are listed to people."""


def lacking(fault: Fault, loop: Loop) -> str | None:
    """What the loop would have to have for this fault; None where the fault is possible."""
    part: object = loop
    for name in fault.needs.split(".") if fault.needs else ():
        part = getattr(part, name)
    return fault.needs if part is None or part is False else None
