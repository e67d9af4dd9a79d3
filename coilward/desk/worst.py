"""`coilward worst`: the night that comes nearest to harm, told in plain words."""

from __future__ import annotations

import json
import sys
from datetime import date
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from coilward.desk.console import heading, item, lead, out, progress, say_files, to_copy
from coilward.desk.files import claim, deliver
from coilward.loop.units import System

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.desk.proving import Asked
    from coilward.proving.hunt import Astray, Found, Tried
    from coilward.simulator.run import Run

SHRINKING_SHARE: Final = 0.9
"""Of the progress bar goes to the hunt, the rest to the shrinking."""


class Wanted(NamedTuple):
    """What is to be hunted, as typed."""

    faults: str | None
    """Names with commas between; None means all."""
    runs: int
    seed: int
    logic: str | None


def hunt_loop(
    loop_name: str, wanted: Wanted, *, today: date, json_name: str | None, page_name: str | None,
    units: System | None,
) -> int:  # fmt: skip
    """Hunt, shrink what was found, tell it, write the files; 1 where something escapes.

    Raises InputRefused for a bad loop, fault, logic or output before anything runs.
    """
    claim({"--json": json_name, "--page": page_name}, [loop_name])
    from coilward.desk.proving import Asked
    from coilward.desk.reading import checked_loop, named_faults
    from coilward.proving.hunt import hunt, weighed_on
    from coilward.proving.shrink import shrink
    from coilward.proving.stage import Stage
    from coilward.simulator.foreign import load

    loop = checked_loop(loop_name, today)
    names = named_faults(wanted.faults)
    logic = load(wanted.logic) if wanted.logic else None
    with progress(f"{loop.name}: hunting for the worst night") as show:
        stage = Stage(loop, today=today, logic=logic)
        found = hunt(
            stage, runs=wanted.runs, seed=wanted.seed, faults=names,
            progress=None if show is None else lambda share: show(SHRINKING_SHARE * share),
        )
        story = None if found.worst is None else shrink(found.worst, weighed_on(stage))
        run = None if story is None else stage.rehearse(story.case)
    asked = Asked(loop_name, today, wanted.logic, units)
    if story is None or run is None:
        sys.stderr.write(f"error: {_nothing(found)}\n")
        return 1
    system = units or loop.units
    texts: dict[str, str] = {}
    if json_name:
        texts[json_name] = worst_json(found, story, asked)
    if page_name:
        texts[page_name] = _page(run, asked.again(story.case.key), today, system)
    if not deliver(texts):
        console = out()
        say_worst(console, found, story, run, asked, system)
        say_files(console, texts)
    return 1 if found.escaped else 0


def say_worst(
    console: Console, found: Found, story: Tried, run: Run, asked: Asked, system: System
) -> None:
    """What was broken, what followed second by second, how near it came, what would help."""
    from coilward.desk.answer import answer
    from coilward.desk.cautions import CAUTIONS
    from coilward.desk.nearest import helps, near, setting, told

    console.print()
    word = "SOMETHING ESCAPES" if found.escaped else "NOTHING ESCAPES"
    style = "bold red" if found.escaped else "bold"
    shape = "[ X ]" if found.escaped else "( o )"
    item(console, f"{shape}  {word} in {found.runs:,} nights on {run.loop.name}", style=style)
    if found.astray is not None:
        item(console, f"First of all, {_astray(found.astray)}.", indent=4)
    if not found.escaped:
        item(console, "The night below is the one with the least margin of those that were "
                      "tried. There may be worse ones.", indent=4)  # fmt: skip
    if found.invalid:
        item(console, f"{found.invalid:,} of the nights showed nothing: the fault did not act, or "
                      "the board was not where it was to be.", indent=4)  # fmt: skip
    heading(console, "The shortest story that shows it")
    item(console, answer(run, system))
    for label, text in setting(story, run, system):
        lead(console, label, text, width=10)
    heading(console, "Second by second, from the moment it broke")
    for after_s, words in told(story, run):
        lead(console, f"{after_s:8.2f} s", words, width=10)
    heading(console, "How near it came")
    for label, text in near(story, run, system):
        lead(console, label, text, width=16)
    heading(console, "What would have helped")
    for text in helps(story, run, asked.today):
        lead(console, "-", text, width=1)
    heading(console, "Take care")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)
    heading(console, "Show it again")
    to_copy(console, asked.again(story.case.key))


def _nothing(found: Found) -> str:
    if found.astray is not None:
        return _astray(found.astray)
    return (
        f"none of {found.runs:,} nights showed anything: no fault of which something is promised "
        "acted in the phase that it is about"
    )


def _astray(astray: Astray) -> str:
    return (
        f"the board is never in {astray.phase}, where it ought to be: it stands in "
        f"{astray.stood}. A logic that is never there can't be judged there"
    )


def worst_json(found: Found, story: Tried, asked: Asked) -> str:
    """The night as it was found and as it is told. Times in seconds, temperatures in kelvin."""
    from coilward.proving.outcome import finite

    def plain(tried: Tried) -> dict[str, Any]:
        outcome = tried.outcome
        return {
            "key": tried.case.key,
            "faults": list(tried.case.faults),
            "least": tried.least,
            "what": tried.what,
            "missed": list(outcome.missed),
            "first_boil_s": outcome.first_boil_s,
            "margin_k": finite(outcome.margin_k),
            "margin_s": finite(outcome.margin_s),
            "onset_s": outcome.onset_s,
            "size": outcome.size,
        }

    data = {
        "escaped": found.escaped,
        "runs": found.runs,
        "invalid": found.invalid,
        "astray": found.astray._asdict() if found.astray else None,
        "found": None if found.worst is None else plain(found.worst),
        "story": plain(story),
        "again": asked.again(story.case.key),
    }
    return json.dumps(data, indent=2, allow_nan=False) + "\n"


def _page(run: Run, command: str, today: date, system: System) -> str:
    from coilward.desk.answer import answer
    from coilward.desk.findings import findings_on
    from coilward.desk.page.sheet import page
    from coilward.desk.verdict import evidence, judge

    verdict = judge(evidence(run, findings_on(run.loop, run.derived, today, system)))
    return page(run, verdict, answer(run, system), command, system)
