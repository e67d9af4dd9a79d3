"""The commands that have to do with a board, its journal and its page, and their options."""

from __future__ import annotations

from typing import Annotated

import typer

from coilward.desk import journaling
from coilward.desk.options import Day, Json, LoopName, Units, day

app = typer.Typer()


@app.command(epilog="Example: coilward run mine.toml --port /dev/ttyUSB0 --journal winter.journal")
def run(
    loop: LoopName,
    port: Annotated[
        str | None,
        typer.Option("--port", metavar="PORT", help="The board: a serial port, or socket://..."),
    ] = None,
    pretend: Annotated[
        bool, typer.Option("--pretend", help="A pretended board with a pretended loop behind it.")
    ] = False,
    night: Annotated[
        str, typer.Option("--night", metavar="NIGHT", help="What happens to the pretended loop.")
    ] = "quiet",
    times: Annotated[
        float,
        typer.Option("--times", min=0.1, max=50, help="So much faster the pretended night runs."),
    ] = 1.0,
    journal: Annotated[
        str | None,
        typer.Option("--journal", metavar="FILE", help="Where every tick is kept; LOOP.journal."),
    ] = None,
    page_port: Annotated[
        int,
        typer.Option("--page-port", min=0, max=65535, help="Of the live page, here; 0 for none."),
    ] = 8420,
    units: Units = None,
    on: Day = None,
) -> None:
    """Drive a board: decide, keep a journal, and tell what is done and why."""
    from coilward.desk.run import Asked, run_loop

    raise typer.Exit(
        run_loop(
            Asked(loop, day(on, loop), port, pretend, night, times, journal, page_port, units)
        )
    )


@app.command(epilog="Example: coilward bench greenhouse --pretend --page bench.html")
def bench(
    loop: LoopName,
    port: Annotated[
        str | None,
        typer.Option("--port", metavar="PORT", help="The board: COM3, a device, socket://HOST:N."),
    ] = None,
    pretend: Annotated[
        bool, typer.Option("--pretend", help="A pretended board, to see what the bench does.")
    ] = False,
    emulated: Annotated[
        bool,
        typer.Option("--emulated", help="The firmware of this loop, on an emulated processor."),
    ] = False,
    night: Annotated[
        list[str] | None,
        typer.Option("--night", metavar="NIGHT", help="A night to play, once or more often."),
    ] = None,
    repeats: Annotated[
        int, typer.Option("--repeats", min=1, help="Times that each interlock is provoked.")
    ] = 100,
    clock: Annotated[
        bool,
        typer.Option("--clock", help="Against the clock, a tick when it is due: for hours."),
    ] = False,
    seed: Annotated[
        int, typer.Option("--seed", min=0, max=2**31 - 1, help="Seed of every random choice.")
    ] = 1,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE", help="Write the page to print and sign.")
    ] = None,
    json: Json = None,
    on: Day = None,
) -> None:
    """Play the plant to a board: time every interlock, inject faults, compare each tick."""
    from coilward.desk.bench import Wanted, bench_loop

    wanted = Wanted(port, pretend, emulated, night or [], repeats, clock, seed)
    raise typer.Exit(
        bench_loop(loop, wanted, today=day(on, loop), json_name=json, page_name=page)
    )


@app.command(epilog="Example: coilward flash greenhouse --out program --board stm32f407")
def flash(
    loop: LoopName,
    folder: Annotated[
        str | None,
        typer.Option("--out", metavar="FOLDER", help="Write the program's sources; a new folder."),
    ] = None,
    board: Annotated[
        str, typer.Option("--board", metavar="KIND", help="Filled in: stm32f407 or rp2040.")
    ] = "stm32f407",
    verify: Annotated[
        bool,
        typer.Option("--verify", help="Run them as machine code through nights, tick by tick."),
    ] = False,
    night: Annotated[
        list[str] | None,
        typer.Option("--night", metavar="NIGHT", help="A night for --verify, once or more often."),
    ] = None,
    bench_only: Annotated[
        bool,
        typer.Option("--bench-only", help="For the bench alone, of a loop that must not be lit."),
    ] = False,
    seed: Annotated[
        int, typer.Option("--seed", min=0, max=2**31 - 1, help="Seed of every random choice.")
    ] = 1,
    json: Json = None,
    on: Day = None,
) -> None:
    """Make the program of a board: sources for the maker's tools, with their own self-test."""
    from coilward.desk.flash import Wanted, flash_loop

    wanted = Wanted(folder, board, verify, night or [], seed, bench_only)
    raise typer.Exit(flash_loop(loop, wanted, today=day(on, loop), json_name=json))


@app.command(epilog="Example: coilward watch greenhouse --night pump-dies --speed 10")
def watch(
    what: Annotated[
        str, typer.Argument(metavar="JOURNAL", help="A journal; with --night, a loop to rehearse.")
    ],
    night: Annotated[
        str | None,
        typer.Option("--night", metavar="NIGHT", help="Rehearse this night while you watch."),
    ] = None,
    speed: Annotated[
        float | None,
        typer.Option("--speed", metavar="X", help="Times real time, 0.1 to 1000; for a journal: "
                     "replay it from its start."),
    ] = None,
    seed: Annotated[
        int, typer.Option("--seed", min=0, max=2**31 - 1, help="Seed of every random choice.")
    ] = 1,
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="On this machine.")] = 8420,
    address: Annotated[
        str | None,
        typer.Option("--address", metavar="A", help="Listen beyond this machine; needs a token."),
    ] = None,
    token_file: Annotated[
        str | None,
        typer.Option("--token-file", metavar="FILE", help="Who watches has to know what is in it."),
    ] = None,
    controls: Annotated[bool, typer.Option("--requests-to-stdout", hidden=True)] = False,
    units: Units = None,
    on: Day = None,
) -> None:
    """Serve the live page of a night: rehearsed, replayed, or running now."""
    from coilward.desk.watch import Asked
    from coilward.desk.watch import watch as serve

    asked = Asked(what, night, speed, seed, port, address, token_file, controls)
    raise typer.Exit(serve(asked, today=day(on, what), units=units))


@app.command(epilog="Example: coilward replay night.journal --loop mine.toml --page replay.html")
def replay(
    log: Annotated[
        str, typer.Argument(metavar="LOG", help="A journal; or a CSV of a run, with --loop.")
    ],
    loop: Annotated[
        str | None,
        typer.Option("--loop", metavar="OTHER", help="Decide with the constants of this loop."),
    ] = None,
    session: journaling.SessionNumber = None,
    begin: journaling.From = None,
    end: journaling.To = None,
    speed: Annotated[
        float | None,
        typer.Option("--speed", min=0.01, max=1e9, help="Times the clock; flat out by default."),
    ] = None,
    columns: Annotated[
        str | None,
        typer.Option(
            "--columns", metavar="MAP", help="A file that says which column of a CSV is what."
        ),
    ] = None,
    json: Json = None,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE", help="Write both sides to print.")
    ] = None,
    on: Day = None,
) -> None:
    """Decide a logged night again: the same, or what would have tripped when."""
    from coilward.desk.journal import seconds
    from coilward.desk.replay import Wanted, replay_file

    wanted = Wanted(
        loop, session, seconds("--from", begin), seconds("--to", end), speed, columns
    )
    today = day(on, loop or "")
    raise typer.Exit(replay_file(log, wanted, today=today, json_name=json, page_name=page))
