"""Faults of supply, wires, board and its memory."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from coilward.simulator import slots as at
from coilward.simulator.faults.actuators import FANS_FAIL, PUMP_DIES
from coilward.simulator.faults.fault import (
    ALWAYS,
    COLD,
    METERED,
    PUMPING,
    WHOLE_FIRE,
    Act,
    Effect,
    Fault,
    Scene,
    sized,
    to,
)
from coilward.simulator.faults.meters import shorted_lpm

REBOOT_S: Final = 2.0
"""From a board's end to its next decision (common practice, no source)."""
QUARTER_S, BACK_S = 900.0, 8.0
"""A quarter of an hour without supply, and what a start and the row for it may take then."""
WATCHDOG_S: Final = 2.0
ROLLS_OVER_S: Final = 2.0**32 / 1e3
"""A count of milliseconds in 32 bits starts again after 49.7 days."""


def _rated(scene: Scene) -> float:
    return scene.size * float(scene.p[at.RATED_V])


def _wire_ohm(scene: Scene) -> float:
    """What leaves the pump this share of the rated voltage, by the divider of wire and pump."""
    rated_ohm = float(scene.p[at.RATED_V]) / float(scene.p[at.PUMP_A])
    return rated_ohm * (1.0 / scene.size - 1.0)


def _part_of_battery(scene: Scene) -> float:
    return scene.size * float(scene.p[at.BATTERY_AH])


OUT_OF_POWER: Final = "The damper falls shut, the dump opens; only what needs no power is left."
WATER_MUST_NOT_NOTICE: Final = "The water must not notice: the contactor keeps the pump running."

PUMP_WIRE_THIN: Final = Fault(
    number="F79", name="pump-wire-thin", group="power",
    words="the pump's wire is thin or loose and eats its voltage",
    response="Live with the flow there is, and shed the heat where it is too little.",
    base="logic", caught_by=("C01", "C02", "C07", "C20", "C46"), phases=PUMPING,
    effects=(Effect(at.PUMP_WIRE_OHM, _wire_ohm, asked_s=at.PUMP_RUN_S),),
    size_meaning="share of the rated voltage that is left to the pump", default_size=0.88,
    lowest=0.75, highest=0.97, wire=True,
)

ROWS: Final = (
    Fault(
        number="F74", name="supply-lost", group="power",
        words="the supply fails, battery and all", response=OUT_OF_POWER,
        base="hardware only", prevents=WHOLE_FIRE, lasts_s=900.0, phases=ALWAYS,
        effects=(to(at.SUPPLY_OPEN_V, 0.0), to(at.PUMP_BATTERY, 0.0)),
        acts=(Act("lose-supply"),), wire=True,
    ),
    Fault(
        number="F74", name="bus-lost", group="power",
        words="the supply of board, valve and fans fails; the pump's own battery is left",
        response=OUT_OF_POWER, base="hardware only", prevents=("pump_battery", *WHOLE_FIRE),
        lasts_s=3600.0, phases=ALWAYS, effects=(to(at.SUPPLY_OPEN_V, 0.0),),
        acts=(Act("lose-supply"),), wire=True,
    ),
    Fault(
        number="F75", name="supply-returns", group="power",
        words="the supply fails, battery and all, and comes back with the fire still in",
        response="Keep the pump off when nobody knows what the coil holds.",
        base="hardware helps", prevents=WHOLE_FIRE, clears_s="size",
        effects=(to(at.SUPPLY_OPEN_V, 0.0), to(at.PUMP_BATTERY, 0.0)),
        acts=(Act("lose-supply"),), size_meaning="seconds without supply", default_size=900.0,
        lowest=1.0, highest=1500.0, wire=True,
    ),
    Fault(
        number="F75", name="supply-blinks", group="power",
        words="the supply fails, battery and all, for about as long as the coil can bear",
        response="Start the pump only while the water can't have come near boiling.",
        base="hardware helps", prevents=WHOLE_FIRE, counts=("pump-off-before-steam",),
        lasts_s=300.0, clears_s="size",
        effects=(to(at.SUPPLY_OPEN_V, 0.0), to(at.PUMP_BATTERY, 0.0)),
        acts=(Act("lose-supply"),), size_meaning="seconds without supply", default_size=40.0,
        lowest=10.0, highest=120.0, wire=True,
    ),
    Fault(
        number="F75", name="supply-back-late", group="power",
        words="the supply fails, battery and all, and is back after a quarter of an hour, the "
        "fire still in",
        response="Keep the pump off: nobody knows what the coil holds.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C12",),
        deadline_s=QUARTER_S + BACK_S, lasts_s=QUARTER_S + 60.0, clears_s=QUARTER_S,
        effects=(to(at.SUPPLY_OPEN_V, 0.0), to(at.PUMP_BATTERY, 0.0)),
        acts=(Act("lose-supply"),), wire=True,
    ),
    Fault(
        number="F76", name="board-reboots", group="power",
        words="the board restarts", response=WATER_MUST_NOT_NOTICE,
        base="logic", lasts_s=600.0, phases=(*ALWAYS, "no-flow fault", "dry lock-out"),
        clears_s=REBOOT_S, acts=(Act("reboot"),), wire=True,
    ),
    Fault(
        number="F76", name="supply-dips", group="power",
        words="the supply dips for a moment and the board restarts",
        response=WATER_MUST_NOT_NOTICE, base="logic", lasts_s=600.0, phases=ALWAYS,
        clears_s=0.5, effects=(Effect(at.SUPPLY_OPEN_V, _rated),),
        acts=(Act("reboot", lasts_s=REBOOT_S, every_s=60.0, times=1),),
        size_meaning="share of the rated voltage that is left", default_size=0.75,
        lowest=0.6, highest=0.88, wire=True,
    ),
    Fault(
        number="F77", name="supply-low", group="power", words="the supply sags",
        response="End the fire while there is charge left to move water.",
        base="logic", caught_by=("C29",), deadline_s=36.0,
        effects=(Effect(at.SUPPLY_OPEN_V, _rated),),
        size_meaning="share of the rated voltage", default_size=0.9, lowest=0.75, highest=0.93,
        wire=True,
    ),
    Fault(
        number="F77", name="supply-sags-deep", group="power",
        words="the supply sags so far that the pump barely turns",
        response="End the fire; with a hot tank and a large fire what flow is left is too little.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C29",), deadline_s=36.0,
        effects=(Effect(at.SUPPLY_OPEN_V, _rated),),
        size_meaning="share of the rated voltage", default_size=0.65, lowest=0.52, highest=0.75,
        wire=True,
    ),
    Fault(
        number="F77", name="charger-lost", group="power",
        words="the charger fails; the battery alone carries pump, fans and board",
        response="Nothing at once; a note.",
        base="logic", lasts_s=3600.0, phases=ALWAYS, effects=(to(at.CHARGER, 0.0),),
        needs="power.battery_ah", wire=True,
    ),
    Fault(
        number="F77", name="battery-flat", group="power",
        words="the charger fails, and the battery is old and nearly flat",
        response="End the fire at once: what is left may not outlast the embers.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C29",), lasts_s=14400.0,
        effects=(to(at.CHARGER, 0.0), Effect(at.BATTERY_AH, _part_of_battery)),
        size_meaning="share of the battery that is left", default_size=0.2,
        lowest=0.1, highest=0.3, needs="power.battery_ah",
    ),
    replace(
        PUMP_DIES, number="F78", name="pump-fuse-blows", group="power",
        words="the pump's fuse blows",
    ),
    replace(
        FANS_FAIL, number="F78", name="fans-fuse-blows", group="power",
        words="the fans' fuse blows",
    ),
    PUMP_WIRE_THIN,
    replace(
        PUMP_WIRE_THIN, name="pump-wire-nearly-off",
        words="the pump's wire hangs by a strand and eats most of its voltage",
        response="Shed the heat; with a hot tank and a large fire what flow is left is too little.",
        base="hardware helps", prevents=WHOLE_FIRE, default_size=0.55, lowest=0.3, highest=0.75,
    ),
    Fault(
        number="F80", name="board-hangs", group="power",
        words="the board's program hangs until its watchdog restarts it",
        response="The outputs stand still for up to 2 s, then the board boots and goes on.",
        base="logic", lasts_s=600.0, phases=ALWAYS,
        acts=(Act("hang", sized="lasts_s"),),
        size_meaning="seconds until the watchdog acts", default_size=WATCHDOG_S,
        lowest=0.25, highest=WATCHDOG_S, wire=True,
    ),
    Fault(
        number="F81", name="reboot-loop", group="power",
        words="the board restarts again and again",
        response="Keep the water moving through every restart, and end the fire.",
        base="logic", caught_by=("C40",), deadline_s=250.0, lasts_s=900.0,
        acts=(Act("reboot", lasts_s=REBOOT_S, sized="every_s"),),
        size_meaning="seconds from one restart to the next", default_size=20.0,
        lowest=8.0, highest=120.0, wire=True,
    ),
    Fault(
        number="F82", name="clock-rolls-over", group="power",
        words="the count of milliseconds starts again from zero",
        response="Count the gap as time without water seen, and go on: no timer reads the clock.",
        base="logic", caught_by=("C44",), deadline_s=1.0, due_in=ALWAYS, lasts_s=600.0,
        phases=ALWAYS,
        effects=(to(at.CLOCK_ADDS_S, -ROLLS_OVER_S),),
    ),
    Fault(
        number="F83", name="constants-corrupt", group="power",
        words="the stored constants are damaged",
        response="Fall back on the built-in safe set and end the fire; permit none.",
        base="logic", caught_by=("C36",), deadline_s=5.0, phases=ALWAYS,
        effects=(to(at.CONSTANTS_BAD, 1.0),), wire=True,
    ),
    Fault(
        number="F84", name="ticks-late", group="power",
        words="requests from the network keep the board from its work",
        response="Decide late, and still in time.",
        base="logic", caught_by=("C44",), lasts_s=900.0, phases=ALWAYS,
        effects=(sized(at.LATE_TICKS),),
        size_meaning="ticks that are left out between two decisions", default_size=1.0,
        lowest=1.0, highest=3.0,
    ),
    Fault(
        number="F85", name="old-page-posts", group="power",
        words="a page left open somewhere keeps posting that the valve should shut",
        response="Refuse it every time.",
        base="logic", caught_by=("C33",), deadline_s=0.5, due_in=ALWAYS, phases=ALWAYS,
        lasts_s=600.0,
        acts=(Act("press", "remote_unsafe", lasts_s=3.0, sized="every_s"),),
        size_meaning="seconds from one post to the next", default_size=5.0,
        lowest=1.0, highest=60.0, wire=True,
    ),
    Fault(
        number="F86", name="link-lost", group="power",
        words="the link to a computer breaks or garbles",
        response="The board runs alone.", base="logic",
        unshown="the board that is rehearsed has no link at all: every run shows it alone",
    ),
    Fault(
        number="F87", name="internet-away", group="power",
        words="the internet is away when somebody wants a chart",
        response="Pages carry all that they draw with.", base="logic",
        unshown="nothing that decides uses a network; the pages are written without references "
        "to elsewhere",
    ),
    Fault(
        number="F88", name="clock-jumps", group="power",
        words="the board's clock is set forward or back",
        response="Count the gap as time without water seen, and go on: no timer reads the clock.",
        base="logic", caught_by=("C44",), deadline_s=1.0, due_in=ALWAYS, lasts_s=600.0,
        phases=ALWAYS, effects=(sized(at.CLOCK_ADDS_S),),
        size_meaning="seconds that it jumps", default_size=-3600.0,
        lowest=-86400.0, highest=86400.0,
    ),
    Fault(
        number="F89", name="log-full", group="power",
        words="the log is full", response="Deciding never waits for writing.", base="logic",
        unshown="the logic writes nothing and its state never grows: there is nothing to fill",
    ),
    Fault(
        number="F90", name="wrong-constants", group="power",
        words="the board holds the constants of another loop",
        response="Permit no fire: the loop's name and sums are compared before one.",
        base="logic", phases=COLD, lasts_s=600.0, effects=(to(at.CONSTANTS_BAD, 1.0),), wire=True,
    ),
    Fault(
        number="F91", name="pulse-wire-shorted", group="power",
        words="a shorted pulse wire floods the board with pulses",
        response="Leave the meter out; keep the pump on where another proof of flow says so.",
        base="hardware helps", prevents=("flow_switch",), caught_by=("C01", "C17"),
        deadline_s="low_flow_total_s", due_in=METERED, lasts_s=600.0,
        effects=(Effect(at.METER_ADDS_LPM, shorted_lpm), to(at.LATE_TICKS, 1.0)), wire=True,
    ),
    Fault(
        number="F92", name="damper-held-by-output", group="power",
        words="the output that holds the damper open is shorted, and holds it",
        response="Cool with everything there is until the wood is gone.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C35",), deadline_s=12.0,
        told_by="sensors.damper_switch", lasts_s=3600.0, phases=("run",),
        effects=(to(at.DAMPER_STUCK, 1.0, asked_s=at.DAMPER_ASKED_S),),
        acts=(Act("press", "emergency", lasts_s=1.0),), wire=True,
    ),
)  # fmt: skip
