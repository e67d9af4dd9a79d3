"""Faults of the water: air, ice, leaks, hoses, scale."""

from __future__ import annotations

from typing import Final

from coilward.simulator import slots as at
from coilward.simulator.faults.fault import (
    ALWAYS,
    COLD,
    METERED,
    PUMPING,
    WHOLE_FIRE,
    Effect,
    Fault,
    Scene,
    sized,
    to,
)

UNDER_MARK: Final = 0.05
"""Share of the tank by which its level falls under a mark."""


def _under(mark: int) -> Effect:
    return Effect(
        at.LEVEL, lambda scene: float(scene.p[mark]) - UNDER_MARK, fitted=at.SENSES_LEVEL
    )


def _carried(scene: Scene) -> float:
    return scene.size * float(scene.p[at.W_PER_LPM_K])


def _cavitates_c(scene: Scene) -> float:
    return float(scene.y[at.COLD_]) - scene.size


REFUSED: Final = "the check refuses such a layout before anything is rehearsed"
BURN_DOWN: Final = "End the fire while there is water to move."
# A leak that empties the tank within about an hour of its low mark leaves a dry coil over embers:
# then the logic alone is not enough.

ROWS: Final = (
    Fault(
        number="F45", name="air-lock", group="hydraulics",
        words="air gathers at the coil's top and takes the water's way",
        response="Hold the flow for too small and shed the heat.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C07", "C20", "C09", "C46"),
        phases=PUMPING, lasts_s=900.0,
        effects=(sized(at.AIR_LOCK, asked_s=at.PUMP_RUN_S),),
        size_meaning="share of the flow that the air takes away", default_size=0.6,
        lowest=0.2, highest=1.0,
    ),
    Fault(
        number="F46", name="line-frozen", group="hydraulics",
        words="an outdoor line is blocked by ice",
        response="Open the valve, shut the damper, sound the horn; never light over it.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C02"),
        deadline_s="low_flow_total_s", due_in=METERED, lasts_s=600.0, phases=PUMPING,
        effects=(to(at.LINE_BLOCKED, 1.0, asked_s=at.PUMP_RUN_S),), wire=True,
    ),
    Fault(
        number="F47", name="coil-shut-at-both-ends", group="hydraulics",
        words="ice or shut valves close the coil at both ends",
        response="Stay away; no logic acts in the seconds that are left.",
        base="nothing",
        unshown="water shut in bursts its pipe within seconds, and the model has no pressure; "
        + REFUSED,
    ),
    Fault(
        number="F48", name="hose-kinks", group="hydraulics",
        words="a hose softens in the heat and kinks",
        response="Shed the heat as the flow falls.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C07", "C20", "C46"),
        phases=("run", "overheat dump", "shutdown", "degraded run"),
        effects=(sized(at.KINK_1_K, asked_s=at.FLOW_S),),
        size_meaning="resistance that each kelvin over 60 degC adds, as a share",
        default_size=0.2, lowest=0.05, highest=2.0,
    ),
    Fault(
        number="F49", name="hose-off", group="hydraulics",
        words="the hose at the coil's inlet comes off",
        response="Shut the damper, sound the horn, pump until the tank is very low.",
        base="nothing", caught_by=("C23", "C24", "C08", "C09", "C13", "C18"), lasts_s=900.0,
        phases=PUMPING, effects=(to(at.HOSE_OFF, 1.0, asked_s=at.LEAKED_L),),
    ),
    Fault(
        number="F50", name="leak-slow", group="hydraulics",
        words="the tank loses water slowly", response=BURN_DOWN,
        base="logic", caught_by=("C23",),
        lasts_s=7200.0, phases=ALWAYS,
        effects=(sized(at.LEAK_LPM, asked_s=at.LEAKED_L),),
        size_meaning="leak, L/min", default_size=0.5, lowest=0.1, highest=0.8,
    ),
    Fault(
        number="F51", name="leak-fast", group="hydraulics",
        words="the tank loses water fast", response=BURN_DOWN,
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C23",),
        lasts_s=7200.0, phases=ALWAYS,
        effects=(sized(at.LEAK_LPM, asked_s=at.LEAKED_L),),
        size_meaning="leak, L/min", default_size=2.0, lowest=1.0, highest=5.0,
    ),
    Fault(
        number="F52", name="low-at-light-up", group="hydraulics",
        words="the tank is low before the fire is lit", response="Permit no fire.",
        base="logic", lasts_s=600.0, phases=COLD, effects=(_under(at.LEVEL_LOW),),
        needs="sensors.level", wire=True,
    ),
    Fault(
        number="F53", name="relief-weeps", group="hydraulics",
        words="the relief valve weeps", response=BURN_DOWN,
        base="logic", caught_by=("C25",), deadline_s=4.0, told_by="sensors.vent_drip",
        effects=(to(at.VENT_WET, 1.0), sized(at.LEAK_LPM)),
        size_meaning="leak, L/min", default_size=0.05, lowest=0.01, highest=0.5, wire=True,
    ),
    Fault(
        number="F54", name="relief-seized", group="hydraulics",
        words="the relief valve is seized, capped or frozen",
        response="None; the open vent is the way out that is left.",
        base="hardware only",
        unshown="nothing shows it until it is needed, and only its proof test finds it; the model "
        "has no pressure",
    ),
    Fault(
        number="F55", name="vent-blocked", group="hydraulics",
        words="snow, wasps, ice or a kink block the vent",
        response="None; look at the vent before every fire.",
        base="nothing",
        unshown="nothing shows it until steam wants out, and what follows the first boil is no "
        "matter of a model",
    ),
    Fault(
        number="F56", name="drains-back", group="hydraulics",
        words="the coil runs empty into the tank as soon as the pump stops",
        response="None; the layout has to be another.", base="nothing", unshown=REFUSED,
    ),
    Fault(
        number="F57", name="level-low", group="hydraulics",
        words="the tank's level falls under its low mark", response=BURN_DOWN,
        base="logic", caught_by=("C23",), deadline_s=15.0,
        effects=(_under(at.LEVEL_LOW),), needs="sensors.level", wire=True,
    ),
    Fault(
        number="F57", name="level-low-low", group="hydraulics",
        words="the tank's level falls under its low-low mark",
        response="End the fire, with the pump on until the flow is lost.",
        base="logic", caught_by=("C24",), deadline_s=4.0,
        effects=(_under(at.LEVEL_LOW_LOW),), needs="sensors.level", wire=True,
    ),
    Fault(
        number="F57", name="tank-siphons-out", group="hydraulics",
        words="a hose on the floor siphons the tank empty", response=BURN_DOWN,
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C23",), lasts_s=3600.0,
        effects=(sized(at.LEAK_LPM, asked_s=at.LEAKED_L),),
        size_meaning="leak, L/min", default_size=6.0, lowest=3.0, highest=10.0,
    ),
    Fault(
        number="F58", name="coil-scaled", group="hydraulics",
        words="scale lines the coil", response="Nothing at once; the metal runs hotter.",
        base="logic", effects=(sized(at.FILM_SHARE),),
        size_meaning="share of the heat transfer that is left", default_size=0.5,
        lowest=0.2, highest=0.95,
    ),
    Fault(
        number="F59", name="strainer-clogs", group="hydraulics",
        words="the strainer clogs", response="Shed the heat while there is still flow enough.",
        base="logic", caught_by=("C01", "C07", "C20", "C03", "C46"), phases=PUMPING,
        effects=(sized(at.CLOG, asked_s=at.PUMP_RUN_S),),
        size_meaning="resistance that is added, over the loop's", default_size=1.0,
        lowest=0.3, highest=2.0, wire=True,
    ),
    Fault(
        number="F59", name="strainer-blocks", group="hydraulics",
        words="a lump of felt or ice blocks most of the strainer at once",
        response="Shed the heat; with a hot tank and a large fire what flow is left is too little.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C01", "C07", "C20", "C03"),
        phases=PUMPING, effects=(sized(at.CLOG, asked_s=at.PUMP_RUN_S),),
        size_meaning="resistance that is added, over the loop's", default_size=4.0,
        lowest=2.0, highest=8.0, wire=True,
    ),
    Fault(
        number="F60", name="check-valve-before-vent", group="hydraulics",
        words="a check valve and a shut valve trap a part of the loop",
        response="None; the layout has to be another.", base="nothing", unshown=REFUSED,
    ),
    Fault(
        number="F61", name="joint-leaks-into-fire", group="hydraulics",
        words="a joint in the fire has a pinhole and hisses", response=BURN_DOWN,
        base="hardware only", caught_by=("C23",), lasts_s=3600.0,
        effects=(sized(at.LEAK_LPM, asked_s=at.LEAKED_L),),
        size_meaning="leak, L/min", default_size=0.3, lowest=0.05, highest=1.0,
    ),
    Fault(
        number="F62", name="glycol-unknown", group="hydraulics",
        words="the water holds glycol that nobody reckoned with",
        response="Stay under the allowed temperature with what the mix carries.",
        base="logic", phases=ALWAYS, effects=(Effect(at.W_PER_LPM_K, _carried),),
        size_meaning="heat that a litre carries, over that of water", default_size=0.92,
        lowest=0.85, highest=0.97,
    ),
    Fault(
        number="F63", name="tank-stratified", group="hydraulics",
        words="hot water stays on top of the tank, over the thermometer",
        response="Trip by the hotter of what the tank and the radiator say.",
        base="logic", phases=ALWAYS, effects=(to(at.LAYERS_W_K, 0.0),),
    ),
    Fault(
        number="F64", name="pump-cavitates", group="hydraulics",
        words="the pump cavitates in the hot suction",
        response="Shed the heat before the flow is gone.",
        base="logic", caught_by=("C01", "C02", "C07", "C20"),
        effects=(Effect(at.CAVITATES_C, _cavitates_c, asked_s=at.PUMP_RUN_S),),
        size_meaning="kelvin that the suction is too hot", default_size=2.0,
        lowest=0.5, highest=4.0,
    ),
)  # fmt: skip
