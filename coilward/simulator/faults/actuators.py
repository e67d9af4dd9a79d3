"""Faults of pump, valve, fans, damper, dump and horn."""

from __future__ import annotations

from typing import Final

from coilward.simulator import slots as at
from coilward.simulator.faults.fault import (
    BURNING,
    COLD,
    COOLING,
    NO_WATER,
    PUMPING,
    SHEDDING,
    THROTTLING,
    WHOLE_FIRE,
    Act,
    Effect,
    Fault,
    Scene,
    sized,
    to,
)

STOP: Final = ("valve_stop",)
SLOWER_K: Final = 0.5
"""The pump's own thermal switch opens this much under the water that passes it."""


def _not_under_stop(scene: Scene, stroke: float) -> float:
    """A stroke that the valve's mechanical stop leaves possible."""
    return max(stroke, float(scene.p[at.VALVE_STOP]))


def _jam(scene: Scene) -> float:
    there = float(scene.y[at.STROKE])
    return there if scene.size != scene.size else _not_under_stop(scene, scene.size)


def _slipped(scene: Scene) -> float:
    return _not_under_stop(scene, float(scene.y[at.STROKE]) - scene.size)


def _cut_out_c(scene: Scene) -> float:
    return float(scene.y[at.COLD_]) - SLOWER_K



PUMP_DIES: Final = Fault(
    number="F26", name="pump-dies", group="actuators",
    words="the pump stops and stays stopped", response=NO_WATER,
    base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C02"),
    deadline_s="low_flow_total_s", lasts_s=600.0, phases=PUMPING,
    effects=(to(at.PUMP_SHARE, 0.0, asked_s=at.PUMP_RUN_S),), wire=True,
)
FANS_FAIL: Final = Fault(
    number="F37", name="fans-fail", group="actuators",
    words="all fans stop", response="Start the dump before the tank is hot.",
    base="hardware helps", prevents=WHOLE_FIRE, alone_with="dump", caught_by=("C22",),
    deadline_s=10.0, told_by="sensors.fan_current", lasts_s=3600.0, phases=COOLING,
    effects=(to(at.FAN_SHARE, 0.0, asked_s=at.FANS_RUN_S),), needs="radiator", wire=True,
)

ROWS: Final = (
    Fault(
        number="F25", name="pump-stalls", group="actuators",
        words="the pump's rotor is held fast, drawing its stall current", response=NO_WATER,
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C02"),
        deadline_s="low_flow_total_s", lasts_s=600.0, phases=PUMPING,
        effects=(to(at.PUMP_STALLED, 1.0, asked_s=at.PUMP_RUN_S),), wire=True,
    ),
    PUMP_DIES,
    Fault(
        number="F27", name="pump-weak", group="actuators",
        words="the pump runs slow", response="Shed the heat while there is still flow enough.",
        base="logic", caught_by=("C01", "C07", "C20", "C03", "C46"), phases=PUMPING,
        effects=(sized(at.PUMP_SHARE, asked_s=at.PUMP_RUN_S),),
        size_meaning="share of the speed that is left", default_size=0.8,
        lowest=0.75, highest=0.99,
    ),
    Fault(
        number="F27", name="pump-limps", group="actuators",
        words="the pump falls to three quarters of its speed or less, at once",
        response="Shed the heat; with a hot tank and a large fire what flow is left is too little.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C07", "C20", "C03", "C46"),
        phases=PUMPING, effects=(sized(at.PUMP_SHARE, asked_s=at.PUMP_RUN_S),),
        size_meaning="share of the speed that is left", default_size=0.4,
        lowest=0.2, highest=0.75,
    ),
    Fault(
        number="F28", name="pump-cuts-out", group="actuators",
        words="the pump's own thermal switch opens in the warm water", response=NO_WATER,
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C02"),
        deadline_s="low_flow_total_s", lasts_s=600.0,
        effects=(Effect(at.CUT_OUT_C, _cut_out_c, asked_s=at.PUMP_RUN_S),), wire=True,
    ),
    Fault(
        number="F29", name="pump-contact-welded", group="actuators",
        words="the pump's contact is welded and it runs whatever it is told",
        response="Nothing stops it; in the dry lock-out cold water meets a dry coil.",
        base="hardware only", phases=("standby", "dry lock-out"),
        effects=(to(at.CONTACT_WELDED, 1.0, asked_s=at.WELDED_S),), wire=True,
    ),
    Fault(
        number="F30", name="pump-draws-air", group="actuators",
        words="the pump is full of air and moves no water", response=NO_WATER,
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C02"),
        deadline_s="low_flow_total_s", lasts_s=600.0, phases=PUMPING,
        effects=(sized(at.PUMP_AIR, asked_s=at.PUMP_RUN_S),),
        size_meaning="share of the pump that is air", default_size=1.0, lowest=0.9, highest=1.0,
    ),
    Fault(
        number="F31", name="valve-shuts", group="actuators",
        words="the throttle valve goes shut as far as its stop lets it, and stays there",
        response="Nothing opens it: only a stop or a bypass passes water.",
        base="hardware only", prevents=STOP, caught_by=("C01", "C07", "C19", "C20"),
        phases=THROTTLING,
        effects=(
            Effect(at.JAMMED, lambda scene: _not_under_stop(scene, 0.0), asked_s=at.VALVE_ASKED_S),
        ),
        wire=True,
    ),
    Fault(
        number="F31", name="valve-shuts-hot", group="actuators",
        words="the throttle valve goes to its stop, or to a bypass, with the tank at its trip",
        response="Nothing opens it; the stop was sized for a cooler tank, so the fire has to end.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C07", "C19", "C20"),
        phases=("overheat dump",),
        effects=(
            Effect(at.JAMMED, lambda scene: _not_under_stop(scene, 0.0), asked_s=at.VALVE_ASKED_S),
        ),
        wire=True,
    ),
    Fault(
        number="F32", name="valve-jams", group="actuators",
        words="the throttle valve stays where it is, or at a stroke",
        response="Live with the flow there is, and shed the heat where it is too little.",
        base="hardware helps", prevents=STOP, caught_by=("C01", "C07", "C19", "C20"),
        phases=THROTTLING, effects=(Effect(at.JAMMED, _jam, asked_s=at.VALVE_ASKED_S),),
        size_meaning="stroke at which it jams, 0 shut to 1 open", lowest=0.0, highest=1.0,
        wire=True,
    ),
    Fault(
        number="F33", name="valve-reversed", group="actuators",
        words="the servo turns the wrong way: told to open, it shuts",
        response="Notice that the flow does not follow, and end the run.",
        base="hardware helps", prevents=STOP, caught_by=("C01", "C07", "C19", "C20"),
        phases=THROTTLING, effects=(to(at.VALVE_REVERSED, 1.0, asked_s=at.PUMP_RUN_S),), wire=True,
    ),
    Fault(
        number="F34", name="valve-slips", group="actuators",
        words="the servo's horn slips, and the valve with it toward shut",
        response="Notice that the flow does not follow, and end the run.",
        base="hardware helps", prevents=STOP, caught_by=("C01", "C07", "C19", "C20"),
        phases=THROTTLING, effects=(Effect(at.JAMMED, _slipped, asked_s=at.VALVE_ASKED_S),),
        size_meaning="stroke that it slips", default_size=0.2, lowest=0.1, highest=0.5,
    ),
    Fault(
        number="F35", name="servo-browns-out-board", group="actuators",
        words="the servo pulls the board's supply down, and the board restarts at each move",
        response="Keep the water moving through every restart, and end the fire.",
        base="logic", caught_by=("C40",), deadline_s=130.0, lasts_s=900.0, phases=COOLING,
        acts=(Act("reboot", lasts_s=1.0, sized="every_s"),),
        size_meaning="seconds from one move to the next", default_size=10.0,
        lowest=10.0, highest=60.0, wire=True,
    ),
    Fault(
        number="F36", name="fan-fails", group="actuators",
        words="one fan of the radiator stops", response="Run the others at full speed.",
        base="logic", caught_by=("C21", "C22"), deadline_s=10.0, phases=COOLING,
        told_by="sensors.fan_current", needs="radiator",
        effects=(
            Effect(
                at.FAN_SHARE, lambda scene: 1.0 - 1.0 / scene.fans, asked_s=at.FANS_RUN_S
            ),
        ),
        wire=True,
    ),
    FANS_FAIL,
    Fault(
        number="F38", name="fans-start-late", group="actuators",
        words="the fans hum and don't start, then turn after all",
        response="Start the dump at once, as with dead fans.",
        base="logic", caught_by=("C22",), deadline_s=10.0, told_by="sensors.fan_current",
        phases=COOLING, clears_s="size",
        effects=(to(at.FAN_SHARE, 0.0, asked_s=at.FANS_RUN_S),),
        size_meaning="seconds until they turn", default_size=30.0, lowest=12.0, highest=120.0,
        needs="radiator", wire=True,
    ),
    Fault(
        number="F39", name="damper-stuck", group="actuators",
        words="the air damper stays where it is",
        response="Cool with everything there is until the wood is gone.",
        base="hardware helps", prevents=WHOLE_FIRE, lasts_s=3600.0, phases=("overheat dump",),
        effects=(
            Effect(
                at.DAMPER_STUCK, lambda scene: float(scene.y[at.TOLD_DAMPER]),
                asked_s=at.DAMPER_ASKED_S,
            ),
        ),
        wire=True,
    ),
    Fault(
        number="F39", name="damper-falls-open", group="actuators",
        words="the shut air damper falls open and stays so",
        response="Cool with everything there is until the wood is gone.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C35",), deadline_s=10.0,
        told_by="sensors.damper_switch", lasts_s=3600.0, phases=SHEDDING,
        effects=(to(at.DAMPER_STUCK, 1.0, asked_s=at.DAMPER_ASKED_S),), wire=True,
    ),
    Fault(
        number="F39", name="damper-sticks-at-finish", group="actuators",
        words="the air damper stays open when the fire is to end",
        response="Cool with everything there is until the wood is gone.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C35",), deadline_s=12.0,
        told_by="sensors.damper_switch", lasts_s=3600.0, phases=("run",),
        effects=(to(at.DAMPER_STUCK, 1.0, asked_s=at.DAMPER_ASKED_S),),
        acts=(Act("press", "finish", lasts_s=0.0),), wire=True,
    ),
    Fault(
        number="F40", name="damper-stuck-shut", group="actuators",
        words="the air damper falls shut over a full fire, which smoulders",
        response="Sound the alarm for carbon monoxide; a person opens slowly, standing aside.",
        base="nothing", caught_by=("C27",), deadline_s=15.0, told_by="sensors.co",
        phases=("warm-up", "run"),
        effects=(
            to(at.DAMPER_STUCK, 0.0, asked_s=at.DAMPER_ASKED_S), to(at.CO_PPM, 150.0)
        ),
        wire=True,
    ),
    Fault(
        number="F41", name="dump-stuck", group="actuators",
        words="the dump valve stays where it is",
        response="Notice that the dump does not cool, and end the fire.",
        base="hardware helps", prevents=WHOLE_FIRE, phases=("overheat dump",), lasts_s=3600.0,
        effects=(
            Effect(
                at.DUMP_STUCK, lambda scene: float(scene.y[at.TOLD_DUMP]),
                asked_s=at.DUMP_ASKED_S,
            ),
        ),
        needs="dump", wire=True,
    ),
    Fault(
        number="F41", name="dump-shuts", group="actuators",
        words="the open dump valve goes shut and stays so",
        response="Notice that the dump does not cool, and end the fire.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C37", "C04", "C06"),
        phases=("overheat dump",), lasts_s=3600.0,
        effects=(to(at.DUMP_STUCK, 0.0, asked_s=at.DUMP_ASKED_S),), needs="dump", wire=True,
    ),
    Fault(
        number="F42", name="dump-opens", group="actuators",
        words="the dump valve opens and stays open",
        response="Nothing; the room gets colder than it should.",
        base="logic", phases=("warm-up", "run"),
        effects=(to(at.DUMP_STUCK, 1.0, asked_s=at.DUMP_ASKED_S),), needs="dump", wire=True,
    ),
    Fault(
        number="F43", name="horn-dead", group="actuators",
        words="the horn gives no sound when it is told to",
        response="Act as if it sounded: nothing waits for a person who may not hear it.",
        base="logic", lasts_s=600.0, phases=(*COLD, *BURNING),
        effects=(to(at.HORN_DEAD, 1.0, asked_s=at.HORN_ASKED_S),),
        acts=(Act("press", "emergency", lasts_s=1.0),), wire=True,
    ),
    Fault(
        number="F44", name="thermostat-dead", group="actuators",
        words="the board dies, and the thermostat does not start the fans",
        response="The damper has fallen shut and the dump is open; the tank takes the rest.",
        base="hardware helps", prevents=WHOLE_FIRE, alone_with="dump", lasts_s=3600.0,
        phases=("run", "overheat dump"),
        effects=(to(at.THERMOSTAT, 0.0, fitted=at.THERMOSTAT),), acts=(Act("reboot"),),
        needs="passive.fan_thermostat", wire=True,
    ),
)  # fmt: skip
