"""`coilward rehearse`: one night in closed loop, and everything that is said about it."""

from __future__ import annotations

import shlex
import sys
from datetime import date

from coilward.desk.console import heading, item, out, progress
from coilward.desk.files import STANDARD_OUTPUT, claim, write_whole
from coilward.loop.units import System


def rehearse_night(
    loop_name: str, night_name: str, *, seed: int, today: date,
    json_name: str | None, page_name: str | None, units: System | None,
    logic_name: str | None = None,
) -> int:  # fmt: skip
    """Run it, write the files, print the report; 1 where the verdict is "do not light".

    Raises InputRefused for a bad loop, night, logic or output before anything runs, and for an
    answer of the person's own logic that no board could act on.
    """
    claim({"--json": json_name, "--page": page_name}, [loop_name, night_name])
    from coilward.desk.reading import checked_loop, possible_night

    loop = checked_loop(loop_name, today)
    night = possible_night(night_name, loop)
    system = units or loop.units

    from coilward.desk.answer import answer
    from coilward.desk.findings import findings_on
    from coilward.desk.report import say_rehearsal
    from coilward.desk.report_json import rehearsal_json
    from coilward.desk.verdict import evidence, judge
    from coilward.simulator.foreign import load
    from coilward.simulator.rehearsal import rehearse

    logic = load(logic_name) if logic_name else None

    with progress(f"{loop.name}: {night.name}") as show_share:
        run = rehearse(
            loop, night, seed=seed, today=today, logic=logic, progress=show_share
        )
    verdict = judge(evidence(run, findings_on(loop, run.derived, today, system)))
    sentence = answer(run, system)
    command = command_line(loop_name, night_name, seed, today, units, logic_name)

    texts: dict[str, str] = {}
    if json_name:
        texts[json_name] = rehearsal_json(run, verdict, sentence)
    if page_name:
        from coilward.desk.page.sheet import page

        texts[page_name] = page(run, verdict, sentence, command, system)
    for name, text in texts.items():
        if name != STANDARD_OUTPUT:
            write_whole(name, text)
    if json_name == STANDARD_OUTPUT:
        sys.stdout.write(texts[STANDARD_OUTPUT])
    else:
        console = out()
        say_rehearsal(console, run, verdict, sentence, command, system)
        if texts:
            heading(console, "Written")
            item(console, ", ".join(texts))
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
