"""Scenes that several tests start from: a cold loop, obeyed outputs, a lock-out."""

from __future__ import annotations

from coilward.controller.interlocks import bit
from coilward.controller.phases import (
    STANDBY,
)
from coilward.controller.state import (
    NO,
)
from coilward.controller.types import Requests
from tests.controller.rig import Rig, constants_of, healthy

COLD_LOOP = {
    "coil_outlet_a_c": 9.0, "coil_outlet_b_c": 9.1, "tank_c": 9.0, "radiator_inlet_c": 9.0,
    "radiator_outlet_c": 9.0, "coil_metal_c": 9.0, "flue_c": 5.0, "line_min_c": 6.0,
    "fan_a": 0.0, "pump_a": 0.0, "pulse_age_s": 1000.0, "flow_switch": 0.0, "supply_v": 12.8,
    "damper_shut": 1.0, "pump_contact": 0.0,
}


def cold_rig(name: str = "greenhouse") -> Rig:
    """A loop that nobody has lit."""
    rig = Rig(constants_of(name), STANDBY, NO)
    return rig.set(**COLD_LOOP).set(flow_lpm=0.0)


def obey(rig: Rig) -> None:
    """Outputs answered as healthy hardware would."""
    good = healthy(rig.constants)
    if rig.commands.pump:
        rig.start_water().set(pump_contact=1.0)
    else:
        rig.set(flow_lpm=0.0, pulse_age_s=1000.0, flow_switch=0.0, pump_a=0.0, pump_contact=0.0)
    rig.set(
        fan_a=good.fan_a * rig.commands.fans, damper_shut=0.0 if rig.commands.damper_open else 1.0
    )


def run_obeyed(rig: Rig, seconds: float, requests: Requests | None = None) -> Rig:
    for _ in range(round(seconds / rig.constants.tick_s)):
        rig.tick(requests)
        obey(rig)
    return rig


def deafen(rig: Rig) -> Rig:
    """A valve that did not follow earlier: latched, so that the run stays degraded."""
    rig.state = rig.state._replace(mode=rig.state.mode._replace(latched=bit("C19")))
    return rig


def declared_out(rig: Rig) -> Rig:
    """Metal and flue cold, and a person says so."""
    return rig.set(coil_metal_c=40.0, flue_c=30.0).run(0.5, Requests(declare_out=True))


def locked() -> Rig:
    rig = Rig().settle().stop_water()
    rig.until(lambda r: r.phase == "dry lock-out", 60.0)
    return rig
