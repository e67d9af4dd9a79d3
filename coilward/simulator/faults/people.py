"""What people do: light too early, load too much, unplug, silence, pour."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from coilward.simulator import slots as at
from coilward.simulator.faults.actuators import PUMP_DIES
from coilward.simulator.faults.fault import (
    ALWAYS,
    BURNING,
    COLD,
    WHOLE_FIRE,
    Act,
    Effect,
    Fault,
    to,
)
from coilward.simulator.faults.hydraulics import UNDER_MARK
from coilward.simulator.faults.power import REBOOT_S
from coilward.simulator.sensors import SCALES_FROM_C

FIRED: Final = ("warm-up", "run")


def _seen_backwards(cell: int) -> Effect:
    """The water meets the coil's cells in the other order."""
    other = at.VIEW_ + at.COIL_CELLS - 1 - cell
    return Effect(at.VIEW_ + cell, lambda scene: float(scene.p[other]))


ROWS: Final = (
    Fault(
        number="F93", name="lit-without-check", group="people",
        words="the fire is lit without the check, with the damper propped open",
        response="Move water if the coil is known to hold it, and let the fire end.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C34", "C35"), phases=("standby",),
        effects=(to(at.DAMPER_STUCK, 1.0, asked_s=at.DAMPER_ASKED_S),),
        acts=(Act("light", lively=2.0, sized="charges"),),
        size_meaning="charges", default_size=0.5, lowest=0.1, highest=1.0,
    ),
    Fault(
        number="F93", name="lit-with-pump-dead", group="people",
        words="the fire is lit without the check, with the damper propped open and the pump dead",
        response="Notice the heat, sound the horn, keep the damper shut.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C34", "C35", "C01", "C02"),
        phases=("standby",),
        effects=(
            to(at.DAMPER_STUCK, 1.0, asked_s=at.DAMPER_ASKED_S), to(at.PUMP_SHARE, 0.0)
        ),
        acts=(Act("light", lively=2.0, sized="charges"),),
        size_meaning="charges", default_size=0.5, lowest=0.1, highest=1.0,
    ),
    Fault(
        number="F94", name="wood-overloaded", group="people",
        words="somebody loads the box full of dry wood",
        response="Dump the heat, shut the damper, ask for no more wood.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C03", "C05", "C07"),
        phases=FIRED, lasts_s=3600.0,
        acts=(Act("reload", moisture=0.12, lively=2.0, sized="charges"),),
        size_meaning="charges", default_size=3.0, lowest=2.0, highest=5.0,
    ),
    Fault(
        number="F95", name="hand-left-on", group="people",
        words="somebody leaves dump and fans held by hand",
        response="Take the outputs back after a minute and say so.",
        base="logic", caught_by=("C33",), deadline_s=61.0, due_in=BURNING, lasts_s=900.0,
        acts=(Act("press", "hand_dump"), Act("press", "hand_fans")), wire=True,
    ),
    Fault(
        number="F95", name="maintenance-left-on", group="people",
        words="somebody turns the key, holds pump, valve and damper by hand, and leaves",
        response="Take the outputs back after a minute and say so.",
        base="logic", caught_by=("C33",), deadline_s=65.0, due_in=("standby",), lasts_s=900.0,
        phases=("standby",),
        acts=(
            Act("press", "key"), Act("press", "hand_pump", after_s=3.0),
            Act("press", "hand_valve", after_s=3.0), Act("press", "hand_damper", after_s=3.0),
        ),
        wire=True,
    ),
    Fault(
        number="F96", name="silenced-and-left", group="people",
        words="somebody silences the horn over a low tank and leaves",
        response="Do everything but sound; sound again after five minutes.",
        base="logic", caught_by=("C23",), deadline_s=15.0, lasts_s=900.0,
        effects=(
            Effect(
                at.LEVEL, lambda scene: float(scene.p[at.LEVEL_LOW]) - UNDER_MARK,
                fitted=at.SENSES_LEVEL,
            ),
        ),
        acts=(Act("press", "silence", after_s=20.0, lasts_s=3.0),),
        needs="sensors.level", wire=True,
    ),
    Fault(
        number="F97", name="reset-again-and-again", group="people",
        words="somebody holds the emergency button, calls the fire out and resets again and again",
        response="End the fire once; a reset brings nothing back that isn't clean.",
        base="logic", caught_by=("C32",), deadline_s=0.5, due_in=ALWAYS,
        phases=(*ALWAYS, "dry lock-out"), lasts_s=900.0,
        acts=(
            Act("press", "emergency", lasts_s=60.0),
            Act("press", "declare_out", after_s=5.0, lasts_s=0.0, every_s=150.0, times=3),
            Act("press", "reset", after_s=10.0, lasts_s=3.0, every_s=15.0, times=20),
        ),
        wire=True,
    ),
    Fault(
        number="F97", name="switched-off-and-on", group="people",
        words="somebody calls the fire out and switches the board off and on, to end a lock-out",
        response="Stay locked out: a restart ends nothing, a person at a cold coil does.",
        base="logic", phases=("dry lock-out",), lasts_s=600.0,
        acts=(
            Act("press", "declare_out", after_s=5.0, lasts_s=0.0),
            Act("reboot", after_s=10.0, lasts_s=REBOOT_S),
        ),
        wire=True,
    ),
    Fault(
        number="F98", name="cold-water-poured", group="people",
        words="somebody pours cold water into a hot, dry coil",
        response="None; words on a sign, and in every alarm of the dry lock-out.",
        base="nothing",
        unshown="the water that a person pours meets metal that no thermometer knows, and the "
        "model ends at the first boil",
    ),
    Fault(
        number="F99", name="cap-opened", group="people",
        words="somebody opens a cap or the door of a boiling loop",
        response="None; a vent to a safe place, and words.",
        base="nothing", unshown="no reading tells where a person stands or what a hand opens",
    ),
    replace(
        PUMP_DIES, number="F100", name="pump-unplugged", group="people",
        words='somebody pulls the pump\'s plug: "the fire is out"',
        response="Open the valve, sound the horn: embers still boil a coil that stands.",
        phases=("shutdown", "degraded run", "run"), lasts_s=1800.0,
    ),
    Fault(
        number="F101", name="units-mistaken", group="people",
        words="somebody types degrees Fahrenheit for Celsius, pounds for kilograms, one gallon "
        "for the other",
        response="Refuse a number without its unit, and one outside what can be.",
        base="logic",
        unshown="it is refused at the door: every number of a file carries its unit and a "
        "plausible range",
    ),
    Fault(
        number="F102", name="relief-capped", group="people",
        words="somebody caps the weeping relief valve or shuts a valve in the vent",
        response="None; nothing may be fitted that can be shut.",
        base="nothing", unshown="no reading shows it, and the model has no pressure",
    ),
    Fault(
        number="F103", name="resistor-for-thermometer", group="people",
        words="somebody puts a resistor in the place of the first outlet thermometer",
        response="Go by the hotter of the two, and warn once they differ.",
        base="hardware helps", alone_with="sensors.coil_outlet_b", caught_by=("C13", "C43"),
        phases=ALWAYS,
        effects=(
            to(at.SCALE_ + at.OUTLET_A, 0.0),
            Effect(at.OFFSET_K_ + at.OUTLET_A, lambda scene: scene.size - SCALES_FROM_C),
            to(at.NOISE_K_ + at.OUTLET_A, 0.0),
        ),
        size_meaning="degC that it shows", default_size=50.0, lowest=10.0, highest=70.0,
        wire=True,
    ),
    Fault(
        number="F104", name="hoses-swapped", group="people",
        words="the hoses at the coil are swapped, and the outlet thermometers sit at its inlet",
        response="Notice that heat comes back and stop the fire; the valve's stop holds the flow.",
        base="hardware only", prevents=("valve_stop",), caught_by=("C13", "C18", "C43", "C05"),
        phases=(*COLD, "warm-up", "run"),
        effects=(
            to(at.SOURCE_ + at.OUTLET_A, at.COLD_ + at.LINE_CELLS - 1),
            to(at.SOURCE_ + at.OUTLET_B, at.COLD_ + at.LINE_CELLS - 1),
            *(_seen_backwards(cell) for cell in range(at.COIL_CELLS)),
        ),
        wire=True,
    ),
)  # fmt: skip
