"""`coilward learn`: a loop's numbers from a logged run, and what they change."""

from __future__ import annotations

import math
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from coilward.desk.cautions import CAUTIONS
from coilward.desk.console import heading, item, lead, out, say_files
from coilward.desk.files import claim, deliver
from coilward.desk.rewriting import Rewrite, plan, put, say_rewrite
from coilward.desk.times import clock, span
from coilward.loop.errors import InputRefused
from coilward.loop.units import System, convert, show

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.learning.experiments import Gain
    from coilward.learning.learned import Learned, Told
    from coilward.learning.proposing import Change
    from coilward.loop.model import Loop

ABOUT_METER = (
    "All heats, conductances and volumes hang on the flow meter: the intervals hold for one whose "
    "pulses were counted against weighed water (0.5 %). One that is 10 % off moves them all."
)


class Before(NamedTuple):
    """One number of the verdict, with the file's numbers and with the learned ones."""

    words: str
    unit: str
    before: float
    after: float


class Answer(NamedTuple):
    """All that is said of one log."""

    learned: Learned
    changes: list[Change]
    loop: Loop
    """With the changes."""
    verdict: list[Before]
    against: list[str]
    """Findings that forbid a fire with the learned numbers."""
    tests: list[Gain]
    """What twenty minutes of test would tell, the best first."""
    rewrite: Rewrite | None
    """The loop file before and after; None where it would be no loop file any more."""
    refused: str
    """Why it would not be, and what would."""
    written: bool


def learn_loop(
    loop_name: str, log_name: str, *, columns: str | None, today: date, write: bool,
    even_if_less_safe: bool, json_name: str | None, page_name: str | None, units: System | None,
) -> int:  # fmt: skip
    """Learn, write the files, print the report; 1 where the learned numbers forbid a fire.

    Raises InputRefused for a bad loop, log, map or output before anything is written, and for a
    log that contradicts itself. With `write` also where the loop file would be none any more, or
    get less safe without a word about it.
    """
    read = [loop_name, log_name, *([columns] if columns else [])]
    claim({"--json": json_name, "--page": page_name}, read)
    from coilward.desk.reading import checked_loop
    from coilward.learning.learned import learn
    from coilward.learning.reading import read_log

    loop = checked_loop(loop_name, today)
    system = units or loop.units
    learned = learn(loop, read_log(log_name, columns), today)
    answer = answer_of(learned, loop_name, today, system)
    if write:
        answer = _put(answer, loop_name, today, even_if_less_safe=even_if_less_safe)
    texts: dict[str, str] = {}
    if json_name:
        from coilward.desk.learn_json import as_json

        texts[json_name] = as_json(answer)
    if page_name:
        from coilward.desk.page.learn import learn_page

        texts[page_name] = learn_page(answer, system)
    if not deliver(texts):
        console = out()
        say(console, answer, system)
        say_files(console, texts)
    return 1 if answer.against else 0


def answer_of(learned: Learned, loop_name: str, today: date, system: System) -> Answer:
    """What follows from what was learned."""
    from coilward.desk.findings import findings_on
    from coilward.learning.experiments import ranked
    from coilward.learning.proposing import changes, updated
    from coilward.loop.derived import derive
    from coilward.loop.limits import refused_limits

    every = changes(learned)
    new = updated(learned.loop, every)
    was, now = derive(learned.loop, today), derive(new, today)
    untold = [each.key for each in learned.numbers if not each.told]
    decay_sd = learned.decay.sd if learned.decay else math.nan
    against = [each.text for each in findings_on(new, now, today, system).every
               if each.severity == "stop"]  # fmt: skip
    against += [
        f"the typed limit {each.key} is no longer safe enough: it follows as "
        f"{show(each.derived, each.unit, system)}"
        for each in refused_limits(new, today)
    ]
    rewrite, refused = None, ""
    try:
        rewrite = _plan(every, loop_name, today)
    except InputRefused as error:
        refused = str(error)
    return Answer(
        learned, every, new, _verdict(was, now), against,
        ranked(learned.plant, learned.fit, was, untold, decay_sd), rewrite, refused, False,
    )  # fmt: skip


def _plan(every: list[Change], loop_name: str, today: date) -> Rewrite:
    edits = [change.edit for change in every]
    return plan(loop_name, edits, today=today, note=f"learned {today}")


def _put(answer: Answer, loop_name: str, today: date, *, even_if_less_safe: bool) -> Answer:
    """The answer, with its changes written into the loop file. Raises InputRefused."""
    rewrite = answer.rewrite or _plan(answer.changes, loop_name, today)
    put(rewrite, even_if_less_safe=even_if_less_safe)
    return answer._replace(written=True)


def _verdict(was: Any, now: Any) -> list[Before]:
    rows: list[tuple[str, str, Any]] = [
        ("settled outlet at the nominal fire", "c", lambda d: d.settled.nominal.outlet_c),
        ("settled tank at the nominal fire", "c", lambda d: d.settled.nominal.tank_c),
        ("settled outlet at the largest fire", "c", lambda d: d.settled.largest.outlet_c),
        ("settled tank at the largest fire", "c", lambda d: d.settled.largest.tank_c),
        ("outlet's dump trip", "c", lambda d: d.outlet_dump_c),
        ("tank's trip", "c", lambda d: d.tank_trip_c),
        ("time to boil without flow, nominal", "s", lambda d: d.boil_s.nominal.peaked),
        ("time to boil without flow, largest", "s", lambda d: d.boil_s.largest.peaked),
    ]
    return [Before(words, unit, look(was), look(now)) for words, unit, look in rows]


def sentence(answer: Answer) -> str:
    """The whole in one sentence."""
    numbers = answer.learned.numbers
    tells = sum(each.told for each in numbers)
    changed = len(answer.changes)
    moved = [each for each in answer.verdict if abs(each.after - each.before) >= 0.5]
    effect = ", and so does what follows from them" if moved else ""
    return (
        f"The log tells {tells} of {len(numbers)} numbers; {changed} of them "
        f"differ{'s' if changed == 1 else ''} from the loop file{effect if changed else ''}."
    )


def spelled(value: float, sd: float, unit: str, system: System) -> str:
    """A number with no more digits than its doubt leaves, and its unit."""
    if math.isnan(value):
        return "not known"
    number, word = convert(value, unit, system)
    return f"{number:.{_digits(sd, unit, system)}f} {word}".strip()


def interval(told: Told, system: System) -> str:
    """The 95 % interval, in the unit of its number."""
    digits = _digits(told.sd, told.unit, system)
    low, high = (convert(edge, told.unit, system)[0] for edge in (told.low, told.high))
    return f"{low:.{digits}f} to {high:.{digits}f}"


def _digits(sd: float, unit: str, system: System) -> int:
    one = abs(convert(1.0, unit, system)[0] - convert(0.0, unit, system)[0])
    if not sd > 0.0:
        return 1
    return min(max(0, 1 - math.floor(math.log10(sd * one))), 4)


def largest(learned: Learned, system: System) -> str:
    """The largest heat that was seen, against the file's."""
    if math.isnan(learned.largest_w):
        return "No three minutes of heat were seen without a gap."
    seen, file = (
        show(kw, "kw", system) for kw in (learned.largest_w / 1e3, learned.loop.fire.largest_kw)
    )
    return (
        f"The largest heat held for three minutes was {seen}, until {clock(learned.largest_s)}; "
        f"the file counts with {file}. It is never lowered by a log: a fire can always be larger "
        "than it was."
    )


def best_test(answer: Answer) -> str:
    """The twenty minutes that would tell most, in words."""
    best = answer.tests[0]
    words = {each.key: each.words for each in answer.learned.numbers}
    tells = ", ".join(words[key] for key in best.tells if key in words)
    told = f" It would tell: {tells}." if tells else " It would narrow what is not told."
    what = best.experiment.words
    if answer.learned.loop.radiator is not None and best.experiment.fan_words:
        what += f", {best.experiment.fan_words}"
    return f"{what[0].upper()}{what[1:]}.{told} Log a row a second."


def say(console: Console, answer: Answer, system: System) -> None:
    """The report on the console."""
    learned = answer.learned
    log = learned.log
    heading(console, f"{learned.loop.name}: learned from {log.file}")
    item(console, sentence(answer))
    parts = len(learned.plant.stretches)
    gaps = "without a gap" if parts == 1 else f"in {parts} stretches with gaps between"
    item(console, f"{len(log.time_s):,} rows over {span(float(log.time_s[-1]))}, one every "
                  f"{log.every_s:g} s, {gaps}. "
                  f"Channels: {', '.join(filter(log.has, log.columns))}.")  # fmt: skip
    heading(console, "What the log tells (95 % interval)")
    for each in learned.numbers:
        if each.told:
            lead(console, f"{each.words}:", f"{spelled(each.value, each.sd, each.unit, system)}, "
                 f"{interval(each, system)} (file "
                 f"{spelled(each.guess, each.sd, each.unit, system)})", width=44)  # fmt: skip
    item(console, ABOUT_METER)
    heading(console, "What it can't tell")
    for each in learned.numbers:
        if not each.told:
            lead(console, f"{each.words}:", each.why, width=44)
    heading(console, "The twenty minutes that would tell most")
    item(console, best_test(answer))
    heading(console, "Heat")
    item(console, largest(learned, system))
    if answer.rewrite is None:
        heading(console, "The loop file")
        item(console, f"It can't be written: {answer.refused}")
    else:
        say_rewrite(console, answer.rewrite, written=answer.written)
    heading(console, "What that changes")
    for row in answer.verdict:
        lead(console, f"{row.words}:", f"{show(row.before, row.unit, system)} -> "
             f"{show(row.after, row.unit, system)}", width=44)  # fmt: skip
    for text in answer.against:
        lead(console, "stop", text, width=4)
    heading(console, "Take care")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)
