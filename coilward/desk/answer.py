"""The night in one sentence, in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from coilward.controller.phases import NO_FLOW
from coilward.desk.deeds import deeds, first_of_each, listed
from coilward.desk.passive import hardware
from coilward.desk.story import row, stays, still_before_boil_s
from coilward.desk.times import span
from coilward.loop.units import System, show
from coilward.simulator.faults import FAULTS

if TYPE_CHECKING:
    from coilward.simulator.night import Moment
    from coilward.simulator.run import Cause, Run

_SEEN_BY: Final[dict[str, str]] = {
    "C01": "by flow",
    "C02": "by the pump's current",
    "C03": "at the coil outlet",
    "C04": "at the coil outlet",
    "C05": "in the tank",
    "C06": "in the tank",
    "C07": "by the flow that the fire needs",
    "C09": "by the coil's metal",
    "C10": "by the coil's metal",
}
"""Other rows are quoted with their cause."""

_LED_TO: Final[dict[str, str]] = {
    "overheat dump": "dumps heat",
    "dry lock-out": "locks the pump off",
    "shutdown": "ends the fire",
    "degraded run": "goes on with full cooling",
    "freeze guard": "guards the lines against frost",
}


MOST_DEEDS: Final = 4


def answer(run: Run, system: System) -> str:
    """One sentence: what happened, what the machine made of it, how it ended."""
    faults = [moment for moment in run.night.moment if moment.do == "fault"]
    if faults:
        begun = _words(faults)
        since_s = faults[0].at_s
    else:
        begun = f"The night runs for {span(run.duration_s)} with nothing broken"
        since_s = 0.0
    return f"{begun}: {_machine(run, since_s, bool(faults))}; {_end(run, since_s, system)}."


def _words(faults: list[Moment]) -> str:
    """The scripted faults, as in "At 1 h 00 min the pump stops for 6 s"."""
    told = []
    for moment in faults:
        words = FAULTS[moment.fault].words if moment.fault else ""
        lasting = f" (for {span(moment.for_s)})" if moment.for_s else ""
        told.append(f"at {span(moment.at_s)} {words}{lasting}")
    told[0] = told[0][:1].upper() + told[0][1:]
    return ", ".join(told)


def _machine(run: Run, since_s: float, broken: bool) -> str:
    """What it saw and did, in order of time and up to the first boil: later help is none."""
    end_s = run.duration_s if run.first_boil_s is None else run.first_boil_s
    if run.logic and not run.causes:
        return _own_logic(run, since_s, end_s)
    causes = [c for c in run.causes if since_s - run.loop.tick_s <= c.time_s <= end_s]
    if not causes:
        return "no alarm comes" if run.first_boil_s is None else "the machine does nothing in time"
    first = min(causes, key=lambda cause: cause.time_s)
    deeds = _phases(run, since_s, end_s, broken)
    deeds.append((first.time_s, 0, _seen(first, since_s, broken)))
    tries = retries(run, since_s)
    if tries:
        times = {1: "once", 2: "twice"}.get(tries, f"{tries} times")
        deeds.append((first.time_s, 1, f"tries the pump {times}"))
    told = [words for _, _, words in sorted(deeds)]
    return "the machine " + listed(told)


def _own_logic(run: Run, since_s: float, end_s: float) -> str:
    """What a logic of a person's own told the outputs; it says nothing of what it saw."""
    if run.died is not None and run.died.time_s <= end_s:
        at_s = max(run.died.time_s, 0.0)
        return f"your own logic stops at {span(at_s)} ({run.died.words}), and the board is dead"
    done = first_of_each(deeds(run, since_s, end_s))[:MOST_DEEDS]
    if not done:
        return "your own logic changes nothing"
    told = [f"{deed.words} after {span(deed.time_s - since_s)}" for deed in done]
    return "your own logic " + listed(told)


def _phases(run: Run, since_s: float, end_s: float, broken: bool) -> list[tuple[float, int, str]]:
    """What the phases did, each kind once, with its time and its place among equals."""
    found: dict[str, tuple[float, int, str]] = {}
    for stay in stays(run):
        led_to = _LED_TO.get(stay.phase)
        if led_to and since_s <= stay.time_s <= end_s and led_to not in found:
            after = f"after {span(stay.time_s - since_s)}" if broken else f"at {span(stay.time_s)}"
            found[led_to] = (stay.time_s, 2, f"{led_to} {after}")
    return list(found.values())


def _seen(first: Cause, since_s: float, broken: bool) -> str:
    said = row(first.name)
    if broken:
        how = _SEEN_BY.get(first.name, f'as "{said.cause}"')
        return f"sees it {how} after {span(max(first.time_s - since_s, 0.0))}"
    return f'sees "{said.cause}" at {span(first.time_s)}'


def retries(run: Run, since_s: float) -> int:
    """How often the pump was switched off and on again in the no-flow fault."""
    trace = run.trace
    pump = trace["pump_cmd"] > 0.5
    rises = np.flatnonzero(~pump[:-1] & pump[1:]) + 1
    counted = (trace["phase"][rises] == NO_FLOW) & (trace["time_s"][rises] >= since_s)
    return int(np.count_nonzero(counted))


def _end(run: Run, since_s: float, system: System) -> str:
    if run.first_boil_s is None:
        margin = show(run.margins.boil_k, "k", system)
        return f"the hottest water stays {margin} under boiling"
    after = span(run.first_boil_s - since_s)
    if still_before_boil_s(run) is None:
        why = "the fire gives more heat than the moving water can carry away"
    elif hardware(run).prevents:
        why = "the water stands, and what is fitted to carry the heat did not hold it"
    else:
        why = "nothing fitted carries the fire's heat without the pump"
    return f"the coil boils after {after}, because {why}"
