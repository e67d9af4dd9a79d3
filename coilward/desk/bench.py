"""`coilward bench`: the plant is played to a board, and its answers held against the reference."""

from __future__ import annotations

import shlex
import sys
from contextlib import ExitStack, contextmanager
from dataclasses import asdict
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from coilward.desk.console import err, out, say_files
from coilward.desk.files import claim, deliver
from coilward.loop.errors import Fault, InputRefused

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from coilward.desk.benching import StandIn
    from coilward.hil.bench.report import Progress, Report
    from coilward.hil.link import Port
    from coilward.loop.model import Loop

NIGHTS = ("quiet", "pump-dies", "board-reboots")
"""What is played where no night is named: a quiet one and two with faults."""


class Wanted(NamedTuple):
    """What is asked for, as typed."""

    port: str | None
    pretend: bool
    emulated: bool
    nights: list[str]
    repeats: int
    clock: bool
    seed: int

    @property
    def stand_in(self) -> StandIn:
        """What is benched in the place of a board."""
        return "pretended" if self.pretend else "emulated" if self.emulated else ""


def bench_loop(
    loop_name: str, wanted: Wanted, *, today: date, json_name: str | None, page_name: str | None
) -> int:
    """Bench the board, tell all of it, write the files.

    1 where anything was found, 130 where it was stopped before anything was. Raises InputRefused
    for a bad loop, night, port or output before anything runs.
    """
    claim({"--json": json_name, "--page": page_name}, [loop_name, *wanted.nights])
    _one_board(wanted)
    from coilward.desk.benching import agrees, say_bench
    from coilward.desk.reading import checked_loop, possible_night
    from coilward.hil.bench.run import Plan, bench_board
    loop = checked_loop(loop_name, today)
    nights = [possible_night(name, loop) for name in wanted.nights or NIGHTS]
    plan = Plan(nights, wanted.repeats, wanted.seed, wanted.clock, today)
    with ExitStack() as stack:
        opens = _opens(wanted, loop_name, loop, today, stack)
        show = stack.enter_context(_live(loop.name))
        report = bench_board(loop, plan, opens, show)
    if report.stopped:
        sys.stderr.write("\nStopped. What was measured until then is told and written.\n")
    command = command_line(loop_name, wanted, today)
    texts: dict[str, str] = {}
    if json_name:
        texts[json_name] = bench_json(report, stand_in=wanted.stand_in)
    if page_name:
        from coilward.desk.page.bench import bench_page

        texts[page_name] = bench_page(loop, report, command, stand_in=wanted.stand_in)
    if not deliver(texts):
        console = out()
        say_bench(console, report, stand_in=wanted.stand_in)
        say_files(console, texts)
    if report.findings:
        return 1
    return 0 if agrees(report) else 130


def _one_board(wanted: Wanted) -> None:
    given = [
        name for name, held in (
            ("--port", wanted.port is not None), ("--pretend", wanted.pretend),
            ("--emulated", wanted.emulated),
        ) if held
    ]  # fmt: skip
    if len(given) != 1:
        told = f"{' and '.join(given)} are given" if given else "none is given"
        accepted = "one of them: --port PORT for a board, --pretend or --emulated for none"
        raise InputRefused([Fault("--port, --pretend, --emulated", None, "", "", told, accepted)])


def _opens(
    wanted: Wanted, loop_name: str, loop: Loop, today: date, stack: ExitStack
) -> Callable[[], Port]:
    """How the port to the board is opened, again and again; what stands in for one is started."""
    from coilward.hil.link import SerialPort

    if wanted.emulated:
        from coilward.hil.emulated.port import emulated_port

        port = emulated_port(loop, today)
        return lambda: port
    url = wanted.port
    if url is None:
        from coilward.hil.pretended import Pretended

        url = stack.enter_context(Pretended(loop_name, today)).url
    return lambda: SerialPort(url)


def command_line(loop_name: str, wanted: Wanted, today: date) -> str:
    """The command that does the same again."""
    board = f"--port {shlex.quote(wanted.port)}" if wanted.port else (
        "--emulated" if wanted.emulated else "--pretend"
    )
    nights = "".join(f" --night {shlex.quote(name)}" for name in wanted.nights)
    clock = " --clock" if wanted.clock else ""
    return (
        f"coilward bench {shlex.quote(loop_name)} {board}{nights} --repeats {wanted.repeats} "
        f"--seed {wanted.seed} --on {today.isoformat()}{clock}"
    )


def bench_json(report: Report, *, stand_in: StandIn) -> str:
    """The whole bench; names end with their unit."""
    from coilward.desk.benching import agrees, headline
    from coilward.desk.report_json import plain_json

    data = asdict(report)
    for part in ("rows", "faults", "nights", "wires", "findings"):
        data[part] = [each._asdict() for each in getattr(report, part)]
    for row in data["rows"]:
        row["spread"] = row["spread"]._asdict()
    data["answers"] = report.answers._asdict()
    if report.silent:
        limit_s, spread = report.silent.limit_s, report.silent.spread
        data["silent"] = {"limit_s": limit_s, "spread": spread._asdict()}
    return plain_json(
        {"answer": headline(report), "agrees": agrees(report), "stand_in": stand_in, **data}
    )


@contextmanager
def _live(name: str) -> Iterator[Progress]:
    """A bar on standard error that says what is done now; nothing where that is no terminal."""
    console = err()
    if not console.is_terminal:
        yield lambda *_: None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn(),
    )  # fmt: skip
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task(name, total=None)
        yield lambda words, done, total: bar.update(
            task, description=f"{name}: {words}", completed=done, total=total
        )
