"""`coilward rehearse`: one night in closed loop, and everything that is said about it."""

from __future__ import annotations

import shlex
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING

from coilward.desk.console import out, progress, say_files
from coilward.desk.files import STANDARD_OUTPUT, claim, deliver
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.units import System

if TYPE_CHECKING:
    from coilward.loop.model import Loop
    from coilward.simulator.logic import Logic
    from coilward.simulator.run import Run


def rehearse_night(
    loop_name: str, night_name: str, *, seed: int, today: date,
    json_name: str | None, page_name: str | None, units: System | None,
    logic_name: str | None = None, csv_name: str | None = None, journal_name: str | None = None,
) -> int:  # fmt: skip
    """Run it, write the files, print the report; 1 where the verdict is "do not light".

    With a journal the interpreter runs, since it alone tells every tick.
    Raises InputRefused for a bad loop, night, logic or output before anything runs, and for an
    answer of the person's own logic that no board could act on.
    """
    no_journal_of(journal_name, "--logic", logic_name)
    claim(
        {"--json": json_name, "--page": page_name, "--csv": csv_name, "--journal": journal_name},
        [loop_name, night_name],
    )
    from coilward.desk.reading import checked_loop, possible_night

    loop = checked_loop(loop_name, today)
    night = possible_night(night_name, loop)

    from coilward.simulator.foreign import load
    from coilward.simulator.rehearsal import rehearse

    logic = load(logic_name) if logic_name else None
    with (
        _journal(journal_name, loop_name, loop, night.name, seed, today) as telling,
        progress(f"{loop.name}: {night.name}") as show_share,
    ):
        run = rehearse(
            loop, night, seed=seed, today=today, logic=telling or logic, progress=show_share
        )
    command = command_line(loop_name, night_name, seed, today, units, logic_name)
    return _tell(run, command, today, json_name, page_name, units, csv_name)


def rehearse_case(
    loop_name: str, key: str, *, today: date, json_name: str | None, page_name: str | None,
    units: System | None, logic_name: str | None = None, csv_name: str | None = None,
) -> int:  # fmt: skip
    """One case of a proof as a whole night; 1 where the verdict is "do not light".

    Raises InputRefused for a bad loop, key, logic or output before anything runs.
    """
    claim({"--json": json_name, "--page": page_name, "--csv": csv_name}, [loop_name])
    from coilward.desk.proving import Asked
    from coilward.desk.reading import checked_loop, possible_case

    loop = checked_loop(loop_name, today)
    case = possible_case(key, loop)
    from coilward.proving.stage import Stage
    from coilward.simulator.foreign import load

    logic = load(logic_name) if logic_name else None
    with progress(f"{loop.name}: {case.key}"):
        run = Stage(loop, today=today, logic=logic).rehearse(case)
    command = Asked(loop_name, today, logic_name, units).again(case.key)
    return _tell(run, command, today, json_name, page_name, units, csv_name)


def no_journal_of(journal_name: str | None, option: str, value: str | None) -> None:
    """Refuse a journal of another logic than ours, or of a case, whose loop is a sampled one."""
    if journal_name == STANDARD_OUTPUT:
        raise InputRefused([Fault("--journal", None, "", '"-"', "a journal is a file of its own, "
                                  "never the console", "the name of a file")])  # fmt: skip
    if journal_name is not None and value is not None:
        raise InputRefused([Fault("--journal", None, "", f'"{journal_name}"',
                                  f"a journal keeps our own logic on the loop as it is typed, not "
                                  f"{option}", "one of the two options")])  # fmt: skip


@contextmanager
def _journal(
    name: str | None, loop_name: str, loop: Loop, night_name: str, seed: int, today: date
) -> Iterator[Logic | None]:
    """Our logic with a journal that hears every tick; nothing where none is asked for."""
    if name is None:
        yield None
        return
    from coilward.hil.recording_night import into_journal
    from coilward.loop.document import text_of
    from coilward.loop.shipped import loop_names, loop_text

    _, text = text_of(loop_name, "loop", loop_names(), loop_text)
    with into_journal(
        name, text, loop, about=night_name, seed=seed, day=today, began_s=time.time()
    ) as logic:
        yield logic


def _tell(
    run: Run, command: str, today: date, json_name: str | None, page_name: str | None,
    units: System | None, csv_name: str | None,
) -> int:  # fmt: skip
    """Judge the run, write the files, print the report."""
    from coilward.desk.answer import answer
    from coilward.desk.findings import findings_on
    from coilward.desk.report import say_rehearsal
    from coilward.desk.report_json import rehearsal_json
    from coilward.desk.verdict import evidence, judge

    system = units or run.loop.units
    verdict = judge(evidence(run, findings_on(run.loop, run.derived, today, system)))
    sentence = answer(run, system)
    texts: dict[str, str] = {}
    if json_name:
        texts[json_name] = rehearsal_json(run, verdict, sentence)
    if page_name:
        from coilward.desk.page.sheet import page

        texts[page_name] = page(run, verdict, sentence, command, system)
    if csv_name:
        from coilward.desk.run_csv import run_csv

        texts[csv_name] = run_csv(run)
    if not deliver(texts):
        console = out()
        say_rehearsal(console, run, verdict, sentence, command, system)
        say_files(console, texts)
    return 1 if verdict.word == "do not light" else 0


def command_line(
    loop_name: str, night_name: str, seed: int, today: date, units: System | None,
    logic_name: str | None = None,
) -> str:
    """The command that shows the same run again; the day decides which proofs still hold."""
    shown = f" --logic {shlex.quote(logic_name)}" if logic_name else ""
    shown += f" --units {units}" if units else ""
    return (
        f"coilward rehearse {shlex.quote(loop_name)} --night {shlex.quote(night_name)} "
        f"--seed {seed} --on {today.isoformat()}{shown}"
    )
