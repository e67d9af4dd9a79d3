"""Faults of thermometers."""

from __future__ import annotations

from typing import Final

from coilward.simulator import slots as at
from coilward.simulator.faults.fault import ALWAYS, COLD, Effect, Fault, Scene, sized, to
from coilward.simulator.sensors import BAD_FRAME, FROZEN, OPEN, SHORT

DIGITAL_READS_S: Final = 1.0
"""Digital thermometers are read once a second: one bad frame lasts for one reading."""


def _mode(channel: int, mode: float) -> Effect:
    return to(at.MODE_ + channel, mode)


def _off_by(channel: int, sign: float) -> Effect:
    slot = at.OFFSET_K_ + channel
    return Effect(slot, lambda scene: float(scene.p[slot]) + sign * scene.size)


def _source(channel: int, other: int) -> Effect:
    """What another thermometer's place has."""
    return Effect(at.SOURCE_ + channel, lambda scene: float(scene.p[at.SOURCE_ + other]))


def _if_digital(channel: int) -> Effect:
    def mode(scene: Scene) -> float:
        return OPEN if scene.p[at.DIGITAL_ + channel] > 0.0 else float(scene.p[at.MODE_ + channel])

    return Effect(at.MODE_ + channel, mode)


def _thermistor_scale(channel: int) -> Effect:
    slot = at.SCALE_ + channel
    return Effect(
        slot, lambda scene: 1.0 if scene.p[at.DIGITAL_ + channel] > 0.0 else scene.size
    )


MEND: Final = "Go by the other one and warn."
TWIN: Final = "sensors.coil_outlet_b"

ROWS: Final = (
    Fault(
        number="F01", name="outlet-a-open", group="sensors",
        words="the first outlet thermometer's wire breaks", response=MEND,
        base="logic", caught_by=("C13", "C14"), deadline_s=4.0, lasts_s=600.0,
        phases=ALWAYS, effects=(_mode(at.OUTLET_A, OPEN),), wire=True,
    ),
    Fault(
        number="F01", name="outlet-b-open", group="sensors",
        words="the second outlet thermometer's wire breaks", response=MEND,
        base="logic", caught_by=("C13",), deadline_s=4.0, lasts_s=600.0, phases=ALWAYS,
        effects=(_mode(at.OUTLET_B, OPEN),), needs=TWIN, wire=True,
    ),
    Fault(
        number="F01", name="outlets-open", group="sensors",
        words="the wires of both outlet thermometers break",
        response="End the fire on full cooling: no outlet temperature is left.",
        base="logic", caught_by=("C14",), deadline_s=5.0, phases=ALWAYS,
        effects=(_mode(at.OUTLET_A, OPEN), _mode(at.OUTLET_B, OPEN)), needs=TWIN, wire=True,
    ),
    Fault(
        number="F02", name="outlet-a-short", group="sensors",
        words="the first outlet thermometer's wires touch", response=MEND,
        base="logic", caught_by=("C13", "C14", "C04"), deadline_s=4.0, lasts_s=600.0,
        phases=ALWAYS, effects=(_mode(at.OUTLET_A, SHORT),), wire=True,
    ),
    Fault(
        number="F03", name="outlet-a-frozen", group="sensors",
        words="the first outlet thermometer keeps its last value",
        response="Go by the hotter of the two, and warn once they differ.",
        base="hardware helps", alone_with=TWIN, effects=(_mode(at.OUTLET_A, FROZEN),),
        caught_by=("C13",), wire=True,
    ),
    Fault(
        number="F03", name="outlet-b-frozen", group="sensors",
        words="the second outlet thermometer keeps its last value",
        response="Go by the hotter of the two, and warn once they differ.",
        base="logic", effects=(_mode(at.OUTLET_B, FROZEN),), caught_by=("C13",), needs=TWIN,
        wire=True,
    ),
    Fault(
        number="F04", name="outlet-a-low", group="sensors",
        words="the first outlet thermometer reads low, its paste dried out",
        response="Stay under the allowed temperature, which leaves room for this, and warn.",
        base="logic", effects=(_off_by(at.OUTLET_A, -1.0),), caught_by=("C13",), phases=ALWAYS,
        size_meaning="kelvin that it reads low", default_size=5.0, lowest=2.0, highest=8.0,
    ),
    Fault(
        number="F05", name="outlet-a-fell", group="sensors",
        words="the first outlet thermometer falls off the pipe",
        response="Go by the other one; without another, the pipe behind tells.",
        base="hardware helps", alone_with=TWIN, caught_by=("C13", "C18", "C43"), phases=ALWAYS,
        effects=(
            to(at.SOURCE_ + at.OUTLET_A, at.OUTDOOR_AIR),
            to(at.EXTRA_LAG_S_ + at.OUTLET_A, 60.0),
        ),
    ),
    Fault(
        number="F05", name="outlet-b-fell", group="sensors",
        words="the second outlet thermometer falls off the pipe", response=MEND,
        base="logic", caught_by=("C13", "C18", "C43"), phases=ALWAYS, needs=TWIN,
        effects=(
            to(at.SOURCE_ + at.OUTLET_B, at.OUTDOOR_AIR),
            to(at.EXTRA_LAG_S_ + at.OUTLET_B, 60.0),
        ),
    ),
    Fault(
        number="F06", name="outlet-and-tank-swapped", group="sensors",
        words="the first outlet thermometer and the tank's are swapped",
        response="Trip on the safe side, or withhold the permission to light.",
        base="logic", caught_by=("C13", "C18", "C43", "C05", "C06"),
        phases=(*COLD, "warm-up", "run"),
        effects=(_source(at.OUTLET_A, at.TANK), _source(at.TANK, at.OUTLET_A)), wire=True,
    ),
    Fault(
        number="F07", name="outlet-b-bad-frame", group="sensors",
        words="the second outlet thermometer sends 85.0 degC once", response="Nothing.",
        base="logic", effects=(_mode(at.OUTLET_B, BAD_FRAME),), lasts_s=300.0,
        clears_s=DIGITAL_READS_S, phases=ALWAYS, needs=TWIN, wire=True,
    ),
    Fault(
        number="F07", name="outlet-b-bad-frames", group="sensors",
        words="the second outlet thermometer sends nothing but 85.0 degC",
        response="Leave it out and warn.",
        base="logic", effects=(_mode(at.OUTLET_B, BAD_FRAME),), caught_by=("C13", "C03"),
        deadline_s=6.0, lasts_s=600.0, phases=ALWAYS, needs=TWIN, wire=True,
    ),
    Fault(
        number="F07", name="bus-hangs", group="sensors",
        words="the wire that all digital thermometers share goes dead",
        response="Go by the thermistors and warn.",
        base="logic", caught_by=("C13",), deadline_s=5.0, lasts_s=600.0, phases=ALWAYS,
        effects=(_mode(at.OUTLET_B, OPEN), _if_digital(at.TANK), _if_digital(at.ROOM),
                 _if_digital(at.LINE)),
        needs=TWIN, wire=True,
    ),
    Fault(
        number="F08", name="tank-open", group="sensors",
        words="the tank thermometer's wire breaks",
        response="Put the radiator's outlet plus 2 K in its place and end the run.",
        base="logic", caught_by=("C15",), deadline_s=10.0, phases=ALWAYS,
        effects=(_mode(at.TANK, OPEN),), wire=True,
    ),
    Fault(
        number="F08", name="tank-out-of-water", group="sensors",
        words="the tank thermometer hangs in the air",
        response="Hold the outlet's limits, which don't need it.",
        base="logic", caught_by=("C13", "C15", "C18", "C43"), phases=ALWAYS,
        effects=(
            to(at.SOURCE_ + at.TANK, at.ROOM_AIR), to(at.EXTRA_LAG_S_ + at.TANK, 120.0)
        ),
    ),
    Fault(
        number="F09", name="radiator-outlet-open", group="sensors",
        words="the radiator outlet thermometer's wire breaks",
        response="Go on; one witness of moving water is missing.",
        base="logic", phases=ALWAYS, effects=(_mode(at.RADIATOR_OUTLET, OPEN),),
        needs="sensors.radiator_outlet", wire=True,
    ),
    Fault(
        number="F10", name="thermistors-drift", group="sensors",
        words="the reference of all thermistors drifts, so that they read low together",
        response="Go by the hottest reading, which a digital thermometer gives.",
        base="hardware helps", alone_with=TWIN, caught_by=("C13", "C18", "C43"),
        effects=(
            _thermistor_scale(at.OUTLET_A), _thermistor_scale(at.OUTLET_B),
            _thermistor_scale(at.TANK), _thermistor_scale(at.RADIATOR_INLET),
            _thermistor_scale(at.RADIATOR_OUTLET),
        ),
        size_meaning="reading over truth, about 25 degC", default_size=0.97,
        lowest=0.9, highest=0.99,
    ),
    Fault(
        number="F11", name="noise-bursts", group="sensors",
        words="pump, fans or servo disturb thermometers and pulses",
        response="Drop what is no reading; move nothing to the unsafe side.",
        base="logic", lasts_s=600.0, clears_s=300.0, phases=ALWAYS,
        effects=(
            sized(at.NOISE_K_ + at.OUTLET_A), sized(at.NOISE_K_ + at.TANK),
            Effect(at.METER_NOISE, lambda scene: 0.03 * scene.size),
        ),
        size_meaning="standard deviation, K", default_size=3.0, lowest=0.5, highest=8.0,
    ),
    Fault(
        number="F12", name="outlet-a-slow", group="sensors",
        words="the first outlet thermometer has come loose and follows slowly",
        response="Go by the hotter of the two.",
        base="hardware helps", alone_with=TWIN, caught_by=("C13",),
        effects=(sized(at.EXTRA_LAG_S_ + at.OUTLET_A),),
        size_meaning="lag that is added, s", default_size=52.0, lowest=15.0, highest=120.0,
    ),
    Fault(
        number="F19", name="metal-open", group="sensors",
        words="the coil's metal thermocouple breaks",
        response="Go on without it and warn.",
        base="logic", caught_by=("C41",), deadline_s=10.0, due_in=ALWAYS, lasts_s=600.0,
        phases=ALWAYS, effects=(_mode(at.METAL, OPEN),), needs="sensors.coil_metal", wire=True,
    ),
    Fault(
        number="F19", name="metal-reversed", group="sensors",
        words="the coil's metal thermocouple is connected the wrong way round",
        response="Rely on flow and outlet; a metal that reads cold proves nothing.",
        base="logic", phases=ALWAYS, effects=(to(at.SCALE_ + at.METAL, -1.0),),
        needs="sensors.coil_metal", wire=True,
    ),
    Fault(
        number="F20", name="metal-in-flame", group="sensors",
        words="the coil's metal thermocouple touches the flame",
        response="End the fire with the pump on: the flow is proven.",
        base="logic", caught_by=("C09",), deadline_s=3.0,
        due_in=("run", "overheat dump", "degraded run"), effects=(_off_by(at.METAL, 1.0),),
        size_meaning="kelvin that it reads high", default_size=100.0, lowest=80.0, highest=250.0,
        needs="sensors.coil_metal",
    ),
    Fault(
        number="F21", name="flue-slow", group="sensors",
        words="the flue thermometer is thick with soot",
        response="Hold the fire for in for longer, which is the safe side.",
        base="logic", phases=ALWAYS, effects=(sized(at.EXTRA_LAG_S_ + at.FLUE),),
        size_meaning="lag that is added, s", default_size=150.0, lowest=60.0, highest=600.0,
        needs="sensors.flue",
    ),
    Fault(
        number="F21", name="flue-open", group="sensors",
        words="the flue thermometer's wire breaks",
        response="Judge the fire by what else there is, and take unknown for burning.",
        base="logic", phases=ALWAYS, effects=(_mode(at.FLUE, OPEN),), needs="sensors.flue",
        wire=True,
    ),
)  # fmt: skip
