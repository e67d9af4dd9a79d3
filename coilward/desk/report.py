"""What a rehearsal says on the console."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from coilward.desk.cautions import CAUTIONS
from coilward.desk.console import WIDEST, heading, item, lead, say_verdict, to_copy
from coilward.desk.deeds import deeds
from coilward.desk.passive import hardware
from coilward.desk.story import Stay, alarms, near_set_point, stays, still_before_boil_s
from coilward.desk.times import clock, span
from coilward.desk.verdict import ALWAYS
from coilward.loop.sums.boil import time_to_boil_s
from coilward.loop.units import System, show

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.desk.verdict import Verdict
    from coilward.simulator.run import Run

MOST_LINES: Final = 40
"""Longer lists are cut on the console; the JSON holds all."""
RANKS: Final = {1: "get back", 2: "act now", 3: "act soon", 4: "note"}
NEAR_K: Final = 3.0
SETTLING_S: Final = 60
"""A limit that the valve only passed on its way into the run phase is not worth a line."""


def say_rehearsal(
    console: Console, run: Run, verdict: Verdict, answer: str, command: str, system: System
) -> None:
    """Sentence, verdict, margins, ribbon, alarms, hardware, cautions, and the command."""
    console.print()
    item(console, answer, indent=0, style="bold")
    say_verdict(console, verdict)
    item(console, ALWAYS, indent=4)
    heading(console, "Margins")
    for label, text in margins(run, system):
        lead(console, label, text, width=24)
    heading(console, "Phases")
    for line in ribbon(stays(run), max(min(console.width, WIDEST) - 2, 40)):
        console.print(f"  {line}", soft_wrap=True)
    _cut(console, [(clock(s.time_s), f"{s.phase}, {span(s.lasted_s)}") for s in stays(run)])
    _say_alarms(console, run)
    block = hardware(run)
    heading(console, "Passive hardware")
    item(console, block.about)
    for each in block.fitted:
        counts = "yes" if each.counts else "no"
        lead(console, counts, f"{each.words}: {each.effect} ({each.state})", width=3)
    item(console, block.conclusion)
    heading(console, "Take care")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)
    heading(console, "Show it again")
    to_copy(console, command)


def margins(run: Run, system: System) -> list[tuple[str, str]]:
    """Margins and peaks in words, for the console and the page."""
    rows = []
    if run.first_boil_s is None:
        rows.append(("Least to boiling", f"{show(run.margins.boil_k, 'k', system)}"))
        rows.append(
            ("If the water stopped", f"boils within {span(run.margins.boil_s)} at worst")
        )
    else:
        rows.append(("Least to boiling", "none: the coil boiled"))
        rows.append(("First boil", f"{clock(run.first_boil_s)}; nothing after it is a margin"))
        rows += by_the_sum(run)
    rows.append(("Hottest coil outlet", show(run.peaks.coil_outlet_true_c, "c", system)))
    rows.append(("Hottest tank", show(run.peaks.tank_c, "c", system)))
    if run.pump_off_with_fire_s > 0:
        rows.append(("Pump off, fire in", span(run.pump_off_with_fire_s)))
    return rows + throttling(run, system)


def by_the_sum(run: Run) -> list[tuple[str, str]]:
    """The time to boil of still water by the sum, from the state in which the water stopped.

    Metal and water at one temperature, fire held; what the wall film adds stands beside it.
    """
    stopped_s = still_before_boil_s(run)
    if stopped_s is None or run.first_boil_s is None:
        return []
    # The last sample with the water still moving: a stopped pump shows in the next one.
    index = max(int(np.searchsorted(run.trace["time_s"], stopped_s)) - 1, 0)
    at_c = float(run.trace["coil_outlet_true_c"][index])
    heat_w = float(run.trace["heat_fire_w"][index])
    derived, flux = run.derived, run.loop.coil.peak_to_mean
    if heat_w <= 0 or at_c >= derived.coil_boil_c:
        return []
    peaked_s, even_s = (
        time_to_boil_s(derived.coil_heat_j_k, derived.coil_boil_c, at_c, heat_w, each)
        for each in (flux, 1.0)
    )
    nominal = heat_w <= 500 * (run.loop.fire.nominal_kw + run.loop.fire.largest_kw)
    film = derived.film_ratio_nominal if nominal else derived.film_ratio_largest
    return [
        ("Rehearsed", f"{span(run.first_boil_s - stopped_s)} after the water stopped"),
        ("By the sum", f"{span(peaked_s)} at the hottest turn, {span(even_s)} if heated evenly; "
                       f"the wall film adds about {100 * (film - 1):.0f} %"),
    ]  # fmt: skip


def throttling(run: Run, system: System) -> list[tuple[str, str]]:
    """How near the outlet stayed to its set-point, and why the valve stood at a limit."""
    share = near_set_point(run, NEAR_K)
    if share is None or run.derived.valve_always_open:
        return []
    near = show(NEAR_K, "k", system)
    goal = show(run.derived.set_point_c, "c", system)
    rows = [("In run", f"{100 * share:.0f} % of the time within {near} of {goal}")]
    limits = (
        ("full", "Valve fully open", "the loop needs all its flow, the outlet is above its goal"),
        ("clamp", "Valve at least flow", "less would let a rising fire boil, though the outlet "
                                         "is under its goal"),
    )  # fmt: skip
    for key, label, why in limits:
        seconds = run.valve_limit_s[key]
        if seconds >= SETTLING_S:
            rows.append((label, f"{span(seconds)}: {why}"))
    return rows


def _say_alarms(console: Console, run: Run) -> None:
    found = alarms(run)
    if run.logic and not found:
        _say_own_logic(console, run)
        return
    heading(console, "Alarms" if found else "Alarms: none")
    told: set[str] = set()
    boiled_s = run.first_boil_s
    for alarm in found[:MOST_LINES]:
        if boiled_s is not None and alarm.time_s > boiled_s:
            lead(console, clock(boiled_s), "First boil. Nothing after it is a margin.", width=8)
            boiled_s = None
        marks = ", first" * alarm.first_out + ", latched" * alarm.latched
        loud = f"{RANKS[alarm.rank]}{marks}"
        again = "Again: " if alarm.happened in told else ""
        lead(console, clock(alarm.time_s), f"{again}{alarm.happened} ({loud})", width=8)
        if again:
            continue
        told.add(alarm.happened)
        lead(console, "", f"Machine: {alarm.machine}", width=8)
        lead(console, "", f"You: {alarm.person}", width=8)
    if len(found) > MOST_LINES:
        item(console, f"and {len(found) - MOST_LINES} more, all in the JSON")


def _say_own_logic(console: Console, run: Run) -> None:
    """What it told the outputs: of what it saw it tells nothing."""
    heading(console, f"What your own logic did ({run.logic})")
    done = [(deed.time_s, deed.words) for deed in deeds(run, 0.0, run.duration_s)]
    if run.died:
        done.append((max(run.died.time_s, 0.0), f"stops: {run.died.words}; the board is dead"))
    done.sort(key=lambda each: each[0])
    _cut(console, [(clock(at_s), words) for at_s, words in done] or [("", "nothing")])


def _cut(console: Console, rows: Sequence[tuple[str, str]]) -> None:
    for label, text in rows[:MOST_LINES]:
        lead(console, label, text, width=8)
    if len(rows) > MOST_LINES:
        item(console, f"and {len(rows) - MOST_LINES} more, all in the JSON")


def ribbon(every: Sequence[Stay], width: int) -> list[str]:
    """The night as one bar of words, each block as long as its phase lasted.

    A block is never shorter than two signs, so that no phase goes unseen.
    """
    total_s = sum(stay.lasted_s for stay in every) or 1.0
    spare = width - 1 - 2 * len(every)
    if spare < 0:
        return []
    bar = ""
    gone_s = 0.0
    for number, stay in enumerate(every, start=1):
        gone_s += stay.lasted_s
        end = 2 * number + round(spare * gone_s / total_s)
        bar += "|" + stay.phase[: end - len(bar) - 1].ljust(end - len(bar) - 1, "_")
    return [bar + "|"]
