"""One night that came near to harm: its circumstances, its course, and what would help."""

from __future__ import annotations

import math
from datetime import date
from typing import TYPE_CHECKING, Final

from coilward.desk.deeds import deeds
from coilward.desk.story import alarms
from coilward.desk.times import span
from coilward.loop.derived import passive_now
from coilward.loop.units import System, show
from coilward.proving.case import DRAWN, MIDDLE, draw
from coilward.proving.requirements import REQUIREMENTS
from coilward.proving.telling import ASKED
from coilward.simulator.faults import FAULTS
from coilward.simulator.faults.classes import class_of
from coilward.simulator.tolerances import TOLERANCES

if TYPE_CHECKING:
    from coilward.proving.hunt import Tried
    from coilward.simulator.run import Run

MOST_TOLD: Final = 30
BESIDES: Final = {
    "deadline": "An interlock tells of the fault within its deadline.",
    "first-boil": "The coil does not boil.",
    "logic-died": "The logic goes on deciding, whatever it reads.",
    **{
        f"told-{name}": f"Interlock {name} counts as soon as the thermometers show that it should."
        for name in ASKED
    },
    "latch-kept": "A latch, and the dry lock-out, stay until a person resets them at the board.",
    "air-kept-off": "Where no fire belongs the damper is shut, but for a test or a hand's minute.",
}
"""What is asked for beside the requirements of the plant."""
HELPS: Final[dict[str, str]] = {
    "water-under-boiling": "More margin: a smaller fire, more flow, or a whole-fire quench coil "
    "or gravity dump that needs no pump.",
    "joints-under-limit": "Brazed or threaded joints near the coil, and more flow through it.",
    "no-flow-answered": "Seeing still water sooner: a quicker meter, a flow switch, or a shorter "
    "debounce.",
    "outlet-trip-answered": "A quicker thermometer at the coil's outlet, or a lower dump trip.",
    "tank-trip-answered": "A lower tank trip, or more tank for this fire.",
    "pump-kept-on": "A logic that keeps the pump running until the coil is known to be dry.",
    "pump-let-go": "A logic that locks the pump off once the coil may be dry.",
    "pump-off-before-steam": "A shorter refill window, so that no pump meets steam.",
    "valve-over-stop": "A stop in the valve itself, which no logic can go under.",
    "dump-steady": "More distance between the temperatures at which the dump opens and shuts.",
    "logic-died": "A logic that takes any reading, none included, without an exception.",
    "latch-kept": "A logic that stores its latches and lets none go but by the reset button.",
    "air-kept-off": "A logic that shuts the damper in every phase that no fire belongs in.",
    "burn-out-waited": "A logic that asks for a quarter of an hour without heat before it rests.",
    **{f"told-{name}": "A logic that answers its own readings in time." for name in ASKED},
    "deadline": "An instrument that shows this fault sooner, or a second one beside it.",
}


def setting(story: Tried, run: Run, system: System) -> list[tuple[str, str]]:
    """What was broken and how large, what fire, and what differs from the loop's own numbers."""
    first = FAULTS[story.case.faults[0]]
    size = story.outcome.size
    rows = [("broken", " and ".join(FAULTS[name].words for name in story.case.faults))]
    rows.append(("when", f"{span(story.outcome.onset_s)} into the night, in {story.outcome.phase}"))
    if size is not None and first.size_meaning:
        rows.append(("how large", f"{size:.3g} ({first.size_meaning})"))
    index = int(min((run.trace["time_s"] <= story.outcome.onset_s).sum(), len(run.trace["time_s"])))
    fire_w = float(run.trace["heat_fire_w"][max(index - 1, 0)])
    rows.append(("fire", f"{show(fire_w / 1e3, 'kw', system)} into the coil at that moment"))
    u = draw(story.case)
    odd = []
    for number, tolerance in enumerate(TOLERANCES, start=len(DRAWN)):
        if round(1000 * u[number]) != MIDDLE:
            off = (2.0 * u[number] - 1.0) * tolerance.spread
            of = " of its stated error" if tolerance.name.endswith(" reading") else ""
            odd.append(f"{tolerance.name.replace('_', ' ')} {100 * off:+.0f} %{of}")
    rows.append(("off by", ", ".join(odd) or "nothing: every number is as in the loop's file"))
    return rows


def told(story: Tried, run: Run) -> list[tuple[float, str]]:
    """What was seen and done after the onset, up to the first boil."""
    since_s = story.outcome.onset_s
    end_s = run.duration_s if run.first_boil_s is None else run.first_boil_s
    found = [(deed.time_s, deed.words) for deed in deeds(run, since_s, end_s)]
    found += [
        (alarm.time_s, f"alarm: {alarm.happened}")
        for alarm in alarms(run)
        if since_s - run.loop.tick_s <= alarm.time_s <= end_s
    ]
    found += [
        (time_s, f"phase: {phase}") for time_s, phase in run.phases if since_s <= time_s <= end_s
    ]
    found.sort(key=lambda each: each[0])
    left_out = len(found) - MOST_TOLD
    rows = [(at_s - since_s, words) for at_s, words in found[:MOST_TOLD]]
    if left_out > 0:
        rows.append((found[MOST_TOLD][0] - since_s, f"and {left_out} more, all in the page's run"))
    if run.first_boil_s is not None:
        rows.append((run.first_boil_s - since_s, "first boil: nothing after it is a margin"))
    return rows or [(0.0, "nothing is seen and nothing is done")]


def near(story: Tried, run: Run, system: System) -> list[tuple[str, str]]:
    """Margins in kelvin and seconds, and the requirement that was nearest or violated."""
    outcome = story.outcome
    rows = []
    if outcome.first_boil_s is not None:
        rows.append(("to boiling", f"none: it boils {span(outcome.first_boil_s)} into the night"))
    elif math.isfinite(outcome.margin_k):
        rows.append(("to boiling", show(outcome.margin_k, "k", system)))
    if math.isfinite(outcome.margin_s):
        rows.append(("in still water", f"{span(outcome.margin_s)} to boiling at the worst moment"))
    if outcome.deadline_s is not None:
        by = f"by {outcome.caught}" if outcome.caught else "by nothing"
        when = "never" if outcome.caught_s is None else f"after {span(outcome.caught_s)}"
        rows.append(("told", f"{when}, {by}; the limit is {span(outcome.deadline_s)}"))
    rows.append(("nearest", f"{_words(story.what)} Share of a comfortable margin left: "
                            f"{story.least:.2f}."))  # fmt: skip
    rows += [("violated", _words(name)) for name in outcome.missed]
    if run.died is not None:
        rows.append(("logic", f"it stopped: {run.died.words}"))
    return rows


def helps(story: Tried, run: Run, today: date) -> list[str]:
    """What would have made more room, for what was nearest, and the hardware of the fault."""
    names = dict.fromkeys((*story.outcome.missed, story.what))
    said = [HELPS[name] for name in names if name in HELPS]
    counted = passive_now(run.loop, today)
    for name in story.case.faults:
        fault = FAULTS[name]
        if fault.prevents and class_of(fault, run.loop, counted) != "logic alone":
            devices = ", ".join(device.replace("_", " ") for device in fault.prevents)
            said.append(f"Against this fault, hardware that works by itself: {devices}.")
        said.append(f"What should happen: {fault.response}")
    return said


def _words(name: str) -> str:
    if name in BESIDES:
        return BESIDES[name]
    return next((each.words for each in REQUIREMENTS if each.name == name), name)
