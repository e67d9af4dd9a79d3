"""The sums on the console."""

from __future__ import annotations

import math
from itertools import groupby
from typing import TYPE_CHECKING

from coilward.desk.cautions import CAUTIONS
from coilward.desk.console import heading, item, lead, out, say_files
from coilward.desk.size_words import (
    answer,
    conclusion,
    helps,
    margin,
    margin_heads,
    minutes,
    seconds,
    shown,
    spread,
    step,
    verdicts,
    worse_findings,
)
from coilward.loop.units import show
from coilward.sizing.sensitivity import width
from coilward.sizing.settling import NEAR_K, SETTLING, boils

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.desk.size import Sums, Told


def say(told: Told, written: list[str]) -> None:
    """Everything, the answer first."""
    console, sums = out(), told.after
    heading(console, f"{sums.sized.loop.name}: the sums")
    item(console, answer(sums))
    for text in sums.sized.remarks:
        lead(console, "-", text, width=1)
    if told.before:
        _against(console, told, told.before.sized.loop.name)
    _rows(console, sums)
    _wires(console, sums)
    _effects(console, sums)
    _remedies(console, sums)
    _findings(console, sums)
    heading(console, "Take care")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)
    say_files(console, written)
    console.print()
    item(console, sums.found.conclusion, indent=0, style="bold")


def _rows(console: Console, sums: Sums) -> None:
    system = sums.sized.system
    for chapter, rows in groupby(sums.sized.rows, key=lambda row: row.chapter):
        heading(console, chapter)
        if chapter == SETTLING:
            _states(console, sums)
            continue
        for row in rows:
            note = f"  ({row.note})" if row.note else ""
            lead(console, f"{row.name}:", f"{shown(row, system)}{note}", width=40)


def _states(console: Console, sums: Sums) -> None:
    system = sums.sized.system
    for state in sums.sized.states:
        ends = (
            f"BOILS after {minutes(state.boils_s)} although water flows"
            if boils(state)
            else f"outlet {show(state.outlet_c, 'c', system)}, "
            f"tank {show(state.tank_c, 'c', system)}"
        )
        pace = (
            ""
            if boils(state) or math.isnan(state.near_s)
            else f"; time constant {minutes(state.tau_s)}, within {show(NEAR_K, 'k', system)} "
            f"after {minutes(state.near_s)}"
        )
        still = (
            ""
            if math.isnan(state.still_s)
            else f"; without flow boils after {seconds(state.still_s)} "
            f"({seconds(state.still_film_s)} with the wall's film)"
        )
        lead(
            console, f"{state.name}:",
            f"{ends}, at {show(state.flow_lpm, 'lpm', system)}{pace}{still}.", width=24,
        )  # fmt: skip


def _wires(console: Console, sums: Sums) -> None:
    system = sums.sized.system
    heading(console, "Wire to the pump")
    for wire in sums.sized.wires:
        here = ", fitted here" if wire.fitted else ""
        lead(
            console, f"{wire.name}:",
            f"{wire.drop_v:.2f} V lost, {show(wire.flow_lpm, 'lpm', system)} left{here}", width=40,
        )  # fmt: skip


def _effects(console: Console, sums: Sums) -> None:
    sized = sums.sized
    heading(console, "What moves the margins most")
    for key, words, unit in margin_heads(sums):
        item(console, f"{words}; now {margin(sized.margins, key, unit, sized.system)}")
        moved = [each for each in sized.effects if width(each, key)]
        for each in sorted(moved, key=lambda each: -width(each, key))[:5]:
            low, high = (
                margin(end, key, unit, sized.system) for end in (each.low, each.high)
            )
            lead(console, f"{each.of.words} {spread(each.of, sized.system)}:",
                 f"less {low}, more {high}", width=44, indent=4)  # fmt: skip


def _remedies(console: Console, sums: Sums) -> None:
    sized, bad = sums.sized, bool(sums.found.stops)
    heading(console, "What to change next")
    item(console, conclusion(sums))
    for each in sized.remedies:
        after = "; ".join(
            f"{words.split(',')[0]} {margin(each.after, key, unit, sized.system)}"
            for key, words, unit in margin_heads(sums)
        )
        lead(console, f"{each.words} {step(each)}:", f"{helps(each, bad)}. {after}.", width=32)


def _findings(console: Console, sums: Sums) -> None:
    every = sums.found.every
    heading(console, "Against it" if every else "Against it: nothing.")
    for finding in every:
        lead(console, finding.severity, finding.text, width=max(len(f.severity) for f in every))


def _against(console: Console, told: Told, before: str) -> None:
    heading(console, f"Before ({before}) and after")
    item(console, verdicts(told), style="bold red" if "WORSE" in verdicts(told) else "bold")
    for text in worse_findings(told):
        item(console, f"WORSE: {text}", style="red")
    moved = [each for each in told.compared if each.word != "same"]
    if not moved:
        item(console, "No number changes.")
    for each in moved:
        old, new = (
            shown(row, told.system) if row else "none" for row in (each.before, each.after)
        )
        item(
            console, f"{each.word}: {each.row.name}: {old} -> {new}",
            style="red" if each.word == "WORSE" else "",
        )  # fmt: skip
