"""Faults of what counts pulses, amperes, level and gas."""

from __future__ import annotations

from typing import Final

from coilward.simulator import slots as at
from coilward.simulator.faults.fault import (
    ALWAYS,
    METERED,
    PUMPING,
    WHOLE_FIRE,
    Effect,
    Fault,
    Scene,
    sized,
    to,
)

SHORTED_HZ: Final = 5000.0


def _doubled(scene: Scene) -> float:
    return 2.0 * float(scene.p[at.METER_FACTOR])


def _spun_lpm(scene: Scene) -> float:
    return 1.2 * scene.size * float(scene.p[at.COIL_OPEN_LPM])


def shorted_lpm(scene: Scene) -> float:
    """Flow that a shorted pulse wire counts, L/min."""
    return 60.0 * SHORTED_HZ / float(scene.p[at.PULSES_PER_L])


ROWS: Final = (
    Fault(
        number="F13", name="meter-dead", group="sensors",
        words="the flow meter gives no pulses while water flows",
        response="Keep the pump on and end the run on full cooling.",
        base="hardware helps", prevents=("flow_switch",), caught_by=("C01",),
        deadline_s="low_flow_total_s", due_in=METERED, lasts_s=600.0, phases=PUMPING,
        effects=(to(at.METER_FACTOR, 0.0, asked_s=at.FLOW_S),), wire=True,
    ),
    Fault(
        number="F13", name="flow-switch-open", group="sensors",
        words="the flow switch's wire breaks",
        response="Go on with the pulse meter; the check before a fire fails.",
        base="logic", phases=ALWAYS, lasts_s=600.0,
        effects=(to(at.SWITCH_WIRE, 0.0, fitted=at.SENSES_SWITCH),), needs="sensors.flow_switch",
        wire=True,
    ),
    Fault(
        number="F14", name="meter-counts-noise", group="sensors",
        words="the meter's wire catches pulses that no water made",
        response="Hold it for a faulty meter while the pump rests; permit no fire.",
        base="logic", caught_by=("C16",), deadline_s=15.0, due_in=("standby",),
        told_by="sensors.pump_current", lasts_s=600.0, phases=ALWAYS,
        effects=(sized(at.METER_ADDS_LPM),),
        size_meaning="flow that is read in addition, L/min", default_size=2.0,
        lowest=0.5, highest=4.0, wire=True,
    ),
    Fault(
        number="F15", name="meter-low", group="sensors",
        words="the flow meter reads low",
        response="Trip early, never late; keep the pump on.",
        base="hardware helps", prevents=("flow_switch",), caught_by=("C01", "C07", "C20", "C46"),
        phases=PUMPING, effects=(sized(at.METER_FACTOR, asked_s=at.FLOW_S),),
        size_meaning="reading over true flow", default_size=0.8, lowest=0.1, highest=0.99,
        wire=True,
    ),
    Fault(
        number="F16", name="meter-high", group="sensors",
        words="the flow meter reads high",
        response="The valve's stop holds the flow that the throttle would take away.",
        base="hardware helps", prevents=("valve_stop",), caught_by=("C46", "C03"),
        phases=PUMPING, effects=(sized(at.METER_FACTOR, asked_s=at.FLOW_S),),
        size_meaning="reading over true flow", default_size=1.3, lowest=1.01, highest=3.0,
        wire=True,
    ),
    Fault(
        number="F17", name="steam-spins-meter", group="sensors",
        words="air or steam spins the flow meter while little water moves",
        response="Treat flow and outlet that rise together as no flow.",
        base="hardware only", prevents=WHOLE_FIRE, caught_by=("C01", "C08", "C03", "C09", "C20",
        "C46"),
        effects=(sized(at.AIR_LOCK, asked_s=at.PUMP_RUN_S), Effect(at.METER_ADDS_LPM, _spun_lpm)),
        size_meaning="share of the flow that the air takes away", default_size=0.7,
        lowest=0.3, highest=0.95,
    ),
    Fault(
        number="F18", name="meter-counts-twice", group="sensors",
        words="every pulse of the flow meter is counted twice",
        response="The valve's stop holds the flow that the throttle would take away.",
        base="hardware helps", prevents=("valve_stop",), caught_by=("C46", "C03"),
        phases=PUMPING,
        effects=(Effect(at.METER_FACTOR, _doubled, asked_s=at.FLOW_S),), wire=True,
    ),
    Fault(
        number="F22", name="float-stuck", group="sensors",
        words="the tank's float sticks at full while the tank leaks",
        response="Hold what is left when the pump draws air.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C02"), lasts_s=3600.0,
        effects=(
            to(at.FLOAT_STUCK, 1.0, fitted=at.SENSES_LEVEL),
            Effect(at.LEAK_LPM, lambda scene: scene.size),
        ),
        size_meaning="leak, L/min", default_size=4.0, lowest=1.0, highest=10.0,
        needs="sensors.level", wire=True,
    ),
    Fault(
        number="F23", name="co-sensor-dead", group="sensors",
        words="the carbon monoxide sensor is dead or past its date",
        response="None; an alarm of its own, certified and with its own battery, has to call.",
        base="nothing", needs="sensors.co",
        unshown="a dead sensor reads like clean air, and the water notices nothing",
    ),
    Fault(
        number="F24", name="current-reads-high", group="sensors",
        words="the pump's current is read too high",
        response="Trip to no flow at worst; never stop the pump for good by it.",
        base="logic", caught_by=("C02",), phases=ALWAYS,
        effects=(sized(at.CURRENT_ADDS_A, fitted=at.SENSES_CURRENT),),
        size_meaning="amperes that are read in addition", default_size=0.5,
        lowest=0.2, highest=3.0, needs="sensors.pump_current", wire=True,
    ),
    Fault(
        number="F24", name="current-lost", group="sensors",
        words="the pump's current is no longer measured",
        response="Go on with the other witnesses and warn.",
        base="logic", caught_by=("C41",), deadline_s=10.0, due_in=ALWAYS, lasts_s=600.0,
        phases=ALWAYS, effects=(to(at.CURRENT_WIRE, 0.0, fitted=at.SENSES_CURRENT),),
        needs="sensors.pump_current", wire=True,
    ),
)  # fmt: skip
