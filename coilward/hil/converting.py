"""From what a plant sends to what the logic reads, and back: pulses to flow, ohm to degrees.

Both ways are here, because whoever plays a plant needs the other one. A thermistor whose
constants stand in the loop file is read in ohm; any other thermometer is sent in degrees, and a
correction in the loop file is taken off.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

from coilward.controller.types import Readings
from coilward.hil.frames import Value, number
from coilward.hil.messages import RAW
from coilward.loop.model import Loop, Thermometer
from coilward.measuring.thermometer import ntc_c, ntc_ohm

THERMOMETERS = {
    "coil_outlet_a": "coil_outlet_a_c", "coil_outlet_b": "coil_outlet_b_c", "tank": "tank_c",
    "radiator_inlet": "radiator_inlet_c", "radiator_outlet": "radiator_outlet_c",
    "coil_metal": "coil_metal_c", "flue": "flue_c", "room": "room_c", "line": "line_min_c",
}  # fmt: skip
"""Name in the loop file: name of the reading."""
SAME = tuple(name for name in RAW if name in Readings._fields and not name.endswith("_c"))
"""What is sent just as it is read."""
LEAST_OHM, MOST_OHM = 1.0, 1e7
"""A thermistor beyond these is shorted or broken."""
Raw = Mapping[str, Value]


def ohm_name(reading: str) -> str:
    """Name of the resistance that is sent in the place of a temperature."""
    return f"{reading.removesuffix('_c')}_ohm"


class Converter(NamedTuple):
    """What one loop's readings are made with."""

    pulses_per_l: float
    thermometers: dict[str, Thermometer | None]
    """By the name of the reading."""

    def readings(self, raw: Raw) -> Readings:
        """What the logic reads; what was not sent is not known."""
        values = {name: number(raw, name) for name in SAME}
        for name, fitted in self.thermometers.items():
            values[name] = _degrees(raw, name, fitted)
        period_s = number(raw, "pulse_period_s")
        values["flow_lpm"] = (
            60.0 / (self.pulses_per_l * period_s) if period_s > 0.0 else math.nan
        )
        return Readings(**values)

    def raw(self, readings: Readings, pulses: int = 0) -> dict[str, Value]:
        """What a plant with these readings sends; what is not known is left out."""
        told: dict[str, Value] = {"pulses": pulses}
        for name in SAME:
            told[name] = getattr(readings, name)
        for name, fitted in self.thermometers.items():
            told.update(_sent(name, getattr(readings, name), fitted))
        flow_lpm = readings.flow_lpm
        told["pulse_period_s"] = (
            math.inf if flow_lpm == 0.0 else 60.0 / (self.pulses_per_l * flow_lpm)
        )
        return {name: value for name, value in told.items() if value == value}


def converter(loop: Loop) -> Converter:
    """The converter of a loop."""
    sensors = loop.sensors
    fitted = {reading: getattr(sensors, name) for name, reading in THERMOMETERS.items()}
    return Converter(loop.meter.pulses_per_litre, fitted)


def _degrees(raw: Raw, name: str, fitted: Thermometer | None) -> float:
    if fitted is not None and fitted.ntc is not None:
        sent_ohm = number(raw, ohm_name(name))
        if LEAST_OHM <= sent_ohm <= MOST_OHM:
            return ntc_c((fitted.ntc.a, fitted.ntc.b, fitted.ntc.c), sent_ohm)
        return math.nan
    sent_c = number(raw, name)
    if fitted is not None and fitted.correction is not None:
        return fitted.correction.gain * sent_c + fitted.correction.zero_k
    return sent_c


def _sent(name: str, value_c: float, fitted: Thermometer | None) -> dict[str, Value]:
    if fitted is not None and fitted.ntc is not None:
        constants = fitted.ntc.a, fitted.ntc.b, fitted.ntc.c
        return {ohm_name(name): ntc_ohm(constants, value_c)} if value_c == value_c else {}
    if fitted is not None and fitted.correction is not None:
        return {name: (value_c - fitted.correction.zero_k) / fitted.correction.gain}
    return {name: value_c}
