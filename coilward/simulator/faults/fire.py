"""Faults of the fire: too much of it, in the wrong place, or out."""

from __future__ import annotations

from typing import Final

from coilward.simulator import slots as at
from coilward.simulator.faults.fault import WHOLE_FIRE, Act, Effect, Fault, Scene, sized, to

CAUGHT_MOST: Final = 0.9
"""Share of the release that a coil can catch at the very most."""
FIRED: Final = ("warm-up", "run")
"""Phases with the damper open."""
LAST: Final = at.COIL_CELLS - 1


def _caught(scene: Scene) -> float:
    """Factor on the coil's conductance that multiplies its share of the release by the size."""
    share = float(scene.p[at.NOMINAL_W] / scene.p[at.RELEASE_W])
    wanted = min(scene.size * share, CAUGHT_MOST)
    return wanted / (1.0 - wanted) * (1.0 - share) / share


def _view(cell: int) -> Effect:
    """A tongue of flame on the last turn; the others see what is left."""
    slot = at.VIEW_ + cell

    def value(scene: Scene) -> float:
        if cell == LAST:
            return scene.size
        left = at.COIL_CELLS - scene.size
        return float(scene.p[slot]) * left / (at.COIL_CELLS - float(scene.p[at.VIEW_ + LAST]))

    return Effect(slot, value)


LARGER: Final = (sized(at.AIR_FACTOR, asked_s=at.HEAT_S), Effect(at.CAUGHT_FACTOR, _caught))
SHED: Final = "Dump the heat, shut the damper, ask for no more wood."
AWAY: Final = "People get away; the water keeps moving."

ROWS: Final = (
    Fault(
        number="F65", name="kindling-reloaded", group="fire",
        words="dry kindling is put on the fire", response=SHED,
        base="logic", caught_by=("C03", "C05", "C07", "C08"), phases=FIRED, lasts_s=3600.0,
        acts=(Act("reload", moisture=0.12, lively=3.0, sized="charges"),),
        size_meaning="charges", default_size=1.0, lowest=0.3, highest=2.0,
    ),
    Fault(
        number="F66", name="gusts", group="fire", words="gusts of wind pull at the fire",
        response="Nothing; the throttle is slow enough not to follow.",
        base="logic", phases=FIRED, effects=(sized(at.GUST, asked_s=at.HEAT_S),),
        size_meaning="share of the air, up and down", default_size=0.3, lowest=0.1, highest=0.5,
    ),
    Fault(
        number="F67", name="fire-larger", group="fire",
        words="the fire is larger than it was described", response=SHED,
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C03", "C05", "C07"),
        phases=FIRED, lasts_s=3600.0, effects=LARGER,
        size_meaning="factor on the heat caught and on the air", default_size=1.5,
        lowest=1.0, highest=2.0,
    ),
    Fault(
        number="F68", name="fire-beyond-cooling", group="fire",
        words="the fire is larger than all that cools it", response=SHED,
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C03", "C04", "C07"),
        phases=FIRED, lasts_s=3600.0, effects=LARGER,
        size_meaning="factor on the heat caught and on the air", default_size=2.5,
        lowest=2.0, highest=4.0,
    ),
    Fault(
        number="F69", name="fire-flares", group="fire",
        words="the fire flares up as somebody opens it",
        response="Stand aside and open slowly; the burst passes through the water.",
        base="nothing", caught_by=("C03", "C07", "C08"), phases=FIRED, lasts_s=900.0,
        clears_s=60.0, effects=(sized(at.AIR_FACTOR, asked_s=at.HEAT_S),),
        size_meaning="factor on the air", default_size=2.0, lowest=1.2, highest=3.0,
    ),
    Fault(
        number="F70", name="chimney-burns", group="fire",
        words="the chimney burns", response=AWAY, base="nothing",
        phases=(*FIRED, "shutdown"), lasts_s=900.0,
        effects=(sized(at.FLUE_ADDS_K), to(at.AIR_FACTOR, 1.3)),
        size_meaning="kelvin in the flue", default_size=400.0, lowest=200.0, highest=700.0,
    ),
    Fault(
        number="F71", name="fire-outside", group="fire",
        words="it burns or smokes outside the firebox", response=AWAY,
        base="nothing", caught_by=("C28",), deadline_s=4.0, told_by="sensors.smoke",
        phases=(*FIRED, "shutdown"), lasts_s=600.0, effects=(to(at.SMOKE, 1.0),), wire=True,
    ),
    Fault(
        number="F72", name="fire-dies-in-frost", group="fire",
        words="the fire dies, and it freezes hard",
        response="Move water before a line freezes, as long as there is power.",
        base="logic", caught_by=("C26",), phases=("run", "shutdown"), lasts_s=14400.0,
        effects=(
            sized(at.OUTDOOR_C), to(at.AIR_FACTOR, 0.01, asked_s=at.HEAT_S),
        ),
        size_meaning="air outside, degC", default_size=-15.0, lowest=-30.0, highest=-5.0,
    ),
    Fault(
        number="F73", name="flame-tongue", group="fire",
        words="a tongue of flame licks one turn of the coil",
        response="Hold water and metal under their limits; move the baffle.",
        base="hardware helps", prevents=WHOLE_FIRE, caught_by=("C09", "C03"), phases=FIRED,
        effects=tuple(_view(cell) for cell in range(LAST, -1, -1)),
        size_meaning="flux on that turn over the mean", default_size=3.0,
        lowest=2.0, highest=4.0,
    ),
)  # fmt: skip
