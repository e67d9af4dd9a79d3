"""What a replay says: on the console, as JSON, and on a page to print."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING, Final

from coilward.controller.interlocks import INDEX, ROWS
from coilward.desk.console import heading, item, lead
from coilward.desk.page.paper import paper, table
from coilward.desk.page.replay import CSS, PHONE, rest_picture
from coilward.desk.replay_rest import POOR, SIMULATED, headline, rest_json, rest_said
from coilward.desk.report_json import plain_json
from coilward.desk.times import clock, span
from coilward.hil.replay.changes import Change, begun, phases
from coilward.hil.replay.sides import Pair, first_outs, pairs
from coilward.loop.document import loop_id

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.desk.replay import Answer
    from coilward.hil.replay.imported import Imported
    from coilward.learning.log import Log
    from coilward.loop.model import Loop

BEGINS: Final = (
    "The log is taken to begin in a steady run with a fire in. What it has no column for counts as "
    "not fitted, and protects nothing here."
)
MINUTES_S: Final = 600.0
"""From here on a difference is told in minutes."""


def sentence(answer: Answer) -> str:
    """Whether it is the same, or where it begins not to be."""
    found, differs = answer.found, answer.found.differs
    if differs is None:
        return f"Identical: {found.ticks:,} ticks, every number of each."
    more = f" and {len(differs.names) - 1} more" if len(differs.names) > 1 else ""
    return (
        f"Tick {differs.number} at {clock(differs.time_s)} is the first that differs: "
        f"{differs.names[0]}{more} (in the journal {differs.logged:g}, now {differs.now:g})."
    )


def what_changed(answer: Answer) -> list[str]:
    """What is another than when the journal was written."""
    told = []
    if not answer.same_code:
        told.append(f"The logic is another than {answer.found.session.code}, which ran then.")
    if not answer.same_constants:
        whose = f"those of {answer.other_loop}" if answer.other_loop else "not those of the journal"
        told.append(f"The constants are {whose}.")
    for number in answer.found.taken:
        told.append(f"Ticks before tick {number} are missing; it is taken as it was written.")
    return told or ["Logic and constants are those that wrote the journal."]


def acts_differ(answer: Answer) -> str:
    """From when on the outputs are told another thing."""
    acts = answer.found.acts
    if acts is None:
        return "Every output is told the same all the time."
    return (
        f"From {clock(acts.time_s)} (tick {acts.number}) on an output is told another thing: from "
        "there on the thermometers show what the logged commands made of the loop, not what the "
        "new ones would have made of it."
    )


def earlier(pair: Pair, rest_from_s: float = math.inf) -> str:
    """How much earlier a row counts now, in words; after ``rest_from_s`` it is simulated."""
    if pair.now_s is None:
        lacks = pair.logged_s is not None and pair.logged_s > rest_from_s
        return "not in the simulated rest" if lacks else "not any more"
    if pair.logged_s is None:
        return "only now"
    by_s = pair.logged_s - pair.now_s
    if by_s == 0.0:
        return "same"
    by = f"{abs(by_s):g} s" if abs(by_s) < MINUTES_S else span(abs(by_s))
    return f"{by} {'earlier' if by_s > 0.0 else 'later'}"


def rows_of(
    found: Sequence[Pair], rest_from_s: float = math.inf
) -> list[tuple[str, str, str, str, str]]:
    """Row, words, both times, and the difference."""
    return [
        (each.name, ROWS[INDEX[each.name]].cause, _at(each.logged_s),
         _at(each.now_s) + _mark(each.now_s, rest_from_s), earlier(each, rest_from_s))
        for each in found
    ]  # fmt: skip


def _rows(answer: Answer) -> list[tuple[str, str, str, str, str]]:
    found = answer.found
    from_s = math.inf if answer.rest is None else answer.rest.from_s
    return rows_of(pairs(found.logged, answer.now), from_s)


def _mark(time_s: float | None, rest_from_s: float) -> str:
    return f" {SIMULATED}" if time_s is not None and time_s > rest_from_s else ""


def say(console: Console, answer: Answer) -> None:
    """Everything, on the console."""
    found = answer.found
    heading(console, f"Replay of session {found.session.number}: {found.session.about or 'a run'}")
    item(console, sentence(answer))
    for words in what_changed(answer):
        item(console, words)
    item(console, acts_differ(answer))
    for words in rest_said(answer):
        item(console, words)
    ticks_s = found.ticks * found.session.tick_s
    item(console, f"{span(ticks_s)} in {span(found.lasted_s)}, {found.engine}: "
                  f"{found.x_real_time:,.0f} times the clock.")  # fmt: skip
    heading(console, "Rows as they began to count (in the journal, now)")
    rows = _rows(answer)
    for name, words, logged, now, by in rows:
        lead(console, name, f"{logged:>9} {now:>19}  {by}: {words}", width=5)
    if not rows:
        item(console, "none")
    heading(console, "First of each trouble")
    item(console, f"in the journal: {_outs(found.logged)}")
    item(console, f"now: {_outs(answer.now)}")
    heading(console, "Phases")
    item(console, f"in the journal: {_phases(found.logged)}")
    item(console, f"now: {_phases(answer.now)}")


def as_json(answer: Answer) -> str:
    """The same as data; times in seconds from the beginning of the session."""
    found = answer.found
    return plain_json({
        "session": found.session.number, "loop_id": found.session.loop_id,
        "first_tick": found.first, "last_tick": found.last, "ticks": found.ticks,
        "identical": found.differs is None, "same_code": answer.same_code,
        "same_constants": answer.same_constants,
        "differs": found.differs._asdict() if found.differs else None,
        "outputs_differ": found.acts._asdict() if found.acts else None,
        "taken_from_journal": found.taken, "engine": found.engine,
        "x_real_time": found.x_real_time, **rest_json(answer),
        "rows": [{**each._asdict(), "earlier_s": each.earlier_s,
                  "simulated": _simulated(answer, each)}
                 for each in pairs(found.logged, answer.now)],
        "logged": _side(found.logged), "now": _side(answer.now),
    })  # fmt: skip


def page(answer: Answer) -> str:
    """Both sides on paper."""
    found = answer.found
    heads = [("row", 40, False), ("what it means", 290, False), ("in the journal", 100, True),
             ("now", 100, True), ("now it is", 130, False)]  # fmt: skip
    rows = [[escape(cell) for cell in row] for row in _rows(answer)]
    words = "".join(f"<p>{escape(text)}</p>" for text in (*what_changed(answer),
                                                          acts_differ(answer)))  # fmt: skip
    first, rest = sentence(answer), ""
    if answer.rest is not None:
        first, words = headline(answer.rest), f"<p>{escape(first)}</p>{words}"
    if told := rest_said(answer):
        shapes = rest_picture(answer.rest) if answer.rest is not None else ""
        rest = "<h2>The simulated rest</h2>" + shapes + "".join(
            f"<p>{f'<b>{escape(text)}</b>' if text == POOR else escape(text)}</p>" for text in told
        )
    both = [[escape(label), escape(_outs(side)), escape(_phases(side))]
            for label, side in (("in the journal", found.logged), ("now", answer.now))]
    return paper(
        f"Replay: {found.session.about or 'a run'}", "a logged night decided again",
        [f'<p class="answer">{escape(first)}</p>', words, rest,
         "<h2>Rows as they began to count</h2>", table(heads, rows, "pairs"),
         "<h2>First of each trouble, and phases</h2>",
         table([("", 100, False), ("first of each trouble", 200, False), ("phases", 400, False)],
               both, "sides")],
        f"Loop {found.session.loop_id}, session {found.session.number}.", CSS, PHONE,
    )  # fmt: skip


def say_imported(console: Console, log: Log, loop: Loop, found: Imported) -> None:
    """What the logic decides on a plain log."""
    heading(console, f"{loop.name}: decided on {log.file}")
    for words in _about_import(found):
        item(console, words)
    heading(console, "Rows as they began to count")
    for row in begun(found.changes):
        lead(console, row.name, f"{clock(row.time_s):>9}  {ROWS[INDEX[row.name]].cause}", width=5)
    if not begun(found.changes):
        item(console, "none")
    heading(console, "Phases")
    item(console, _phases(found.changes))


def imported_json(log: Log, loop: Loop, found: Imported) -> str:
    """The same as data."""
    return plain_json({
        "log": log.file, "loop_id": loop_id(loop), "ticks": found.ticks,
        "not_in_the_log": found.unfitted, "now": _side(found.changes),
    })  # fmt: skip


def imported_page(log: Log, loop: Loop, found: Imported) -> str:
    """The same on paper."""
    rows = [[row.name, escape(ROWS[INDEX[row.name]].cause), clock(row.time_s)]
            for row in begun(found.changes)]  # fmt: skip
    return paper(
        f"{loop.name}: decided on a log", "a plain log decided by this logic",
        [*(f"<p>{escape(words)}</p>" for words in _about_import(found)),
         table([("row", 40, False), ("what it means", 400, False), ("at", 100, True)], rows),
         f"<p>{escape(_phases(found.changes))}</p>"],
        f"Loop {loop_id(loop)}, log {escape(log.file)}.",
    )  # fmt: skip


def _about_import(found: Imported) -> list[str]:
    left = ", ".join(found.unfitted).replace("_", " ")
    return [f"{found.ticks:,} ticks.", BEGINS, f"In the loop, not in the log: {left or 'nothing'}."]


def _side(changes: list[Change]) -> dict[str, object]:
    return {
        "causes": [row._asdict() for row in begun(changes)],
        "phases": [{"time_s": at_s, "phase": name} for at_s, name in phases(changes)],
    }


def _simulated(answer: Answer, pair: Pair) -> bool:
    """Whether what stands on the side of now comes from the simulated rest."""
    return answer.rest is not None and pair.now_s is not None and (
        pair.now_s > answer.rest.from_s
    )


def _outs(changes: list[Change]) -> str:
    return ", ".join(f"{row.name} {clock(row.time_s)}" for row in first_outs(changes)) or "none"


def _phases(changes: list[Change]) -> str:
    return ", ".join(f"{name} {clock(at_s)}" for at_s, name in phases(changes))


def _at(time_s: float | None) -> str:
    return "-" if time_s is None else clock(time_s)
