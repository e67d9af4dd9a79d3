"""Wire to the pump and battery behind it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from coilward.loop.derived import Derived
from coilward.loop.hydraulics import flow_lpm
from coilward.loop.model import Loop
from coilward.loop.sums.supply import awg_mm2, charge_ah, lead_acid_ah, wire_drop_v
from coilward.loop.units import System
from coilward.sizing.row import Row

SUPPLY = "Supply"
AREAS_MM2 = (0.75, 1.5, 2.5, 4.0)
GAUGES = (18, 16, 14, 12)
USUAL_M = 10.0
"""Taken where the file does not say how far the pump is from the battery."""
BURN_OUT_H = (1.0, 4.0)


class Wire(NamedTuple):
    """One wire to the pump: what it costs in volts and in flow."""

    name: str
    area_mm2: float
    drop_v: float
    flow_lpm: float
    """With the valve open, by the pump curve at what voltage is left."""
    flow_share: float
    """Of the flow without any wire."""
    fitted: bool


def wire_length_m(loop: Loop) -> float:
    """Battery to pump, one way, as typed or as is usual, m."""
    return loop.power.wire_length_m or USUAL_M


def wires(loop: Loop, derived: Derived, system: System) -> tuple[Wire, ...]:
    """The usual cross-sections, and the one that is fitted."""
    usual = (
        [(f"{area:g} mm2", area) for area in AREAS_MM2]
        if system == "si"
        else [(f"{gauge} AWG", awg_mm2(gauge)) for gauge in GAUGES]
    )
    fitted_mm2 = loop.power.wire_area_mm2
    every = [_wire(loop, derived, name, area, fitted_mm2 == area) for name, area in usual]
    if fitted_mm2 and not any(wire.fitted for wire in every):
        every.append(_wire(loop, derived, f"{fitted_mm2:g} mm2", fitted_mm2, True))
    return tuple(sorted(every, key=lambda wire: wire.area_mm2))


def _wire(loop: Loop, derived: Derived, name: str, area_mm2: float, fitted: bool) -> Wire:
    pump = loop.pump
    drop_v = wire_drop_v(pump.current_a, wire_length_m(loop), area_mm2)
    left_lpm = flow_lpm(derived.system, 1.0, max(0.0, 1 - drop_v / pump.voltage_v))
    return Wire(name, area_mm2, drop_v, left_lpm, left_lpm / derived.flow_open_lpm, fitted)


def loads_a(loop: Loop) -> tuple[float, float]:
    """Pump with board, and everything with the fans, A."""
    least_a = loop.pump.current_a + loop.power.board_a
    return least_a, least_a + (loop.radiator.fan_current_a if loop.radiator else 0.0)


def supply_rows(loop: Loop, _: Derived, __: System) -> Iterator[Row]:
    """Battery for the burn-out; the fitted wire, where the file tells it."""
    least_a, all_a = loads_a(loop)
    for hours in BURN_OUT_H:
        yield Row(
            f"battery_{hours:.0f}_h_ah", SUPPLY, f"battery for {hours:.0f} h, pump and board",
            lead_acid_ah(charge_ah(least_a, hours)), "ah", "less",
            f"lead-acid, half usable; {lead_acid_ah(charge_ah(all_a, hours)):.0f} Ah with the fans"
            if loop.radiator
            else "lead-acid, half usable",
        )
    yield Row(
        "battery_lasts_h", SUPPLY, "fitted battery runs pump and board for",
        loop.power.battery_ah / lead_acid_ah(least_a), "h", "more",
    )
    if loop.power.wire_length_m and loop.power.wire_area_mm2:
        drop_v = wire_drop_v(
            loop.pump.current_a, loop.power.wire_length_m, loop.power.wire_area_mm2
        )
        yield Row("wire_drop_v", SUPPLY, "lost in the wire to the pump", drop_v, "v", "less")
