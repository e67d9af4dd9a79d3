"""The command `coilward`: options, exit codes, and what is said when something is refused.

Exit codes: 0 fine, 1 a finding against the loop, 2 bad input or use, 130 interrupted.
"""

from __future__ import annotations

import _thread
import signal
import sys
import threading
from typing import TYPE_CHECKING, Annotated

import typer

from coilward.desk import calibrating, journaling, wired
from coilward.desk.options import Day, Json, LessSafe, LogicName, LoopName, Units, Write, day
from coilward.loop.errors import InputRefused

if TYPE_CHECKING:
    from sys import UnraisableHookArgs

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode="rich",
    help="Control logic for a home-built, wood-fired water loop, and the bench on which a "
    "builder learns to trust it.",
    epilog="Example: coilward rehearse greenhouse --night pump-dies --page night.html",
)


@app.command(epilog="Example: coilward check greenhouse --units us")
def check(
    loop: LoopName,
    units: Units = None,
    json: Json = None,
    on: Day = None,
) -> None:
    """Read a loop file: what is wrong, forbidden or missing, and the numbers that follow."""
    from coilward.desk.check import check_loop

    raise typer.Exit(check_loop(loop, today=day(on, loop), json_name=json, units=units))


@app.command(epilog="Example: coilward size mine.toml --against greenhouse --page sums.html")
def size(
    loop: LoopName,
    against: Annotated[
        str | None,
        typer.Option(
            "--against", metavar="OTHER", help="Set the numbers of LOOP beside those of this one."
        ),
    ] = None,
    json: Json = None,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE", help="Write the sums to print.")
    ] = None,
    units: Units = None,
    on: Day = None,
) -> None:
    """Do the sums before anything is bought: where it settles, what it needs, what helps."""
    from coilward.desk.size import size_loop

    raise typer.Exit(
        size_loop(
            loop, against, today=day(on, loop), json_name=json, page_name=page, units=units
        )
    )


@app.command(
    epilog="Example: coilward rehearse greenhouse --night pump-dies --seed 7 --page night.html"
)
def rehearse(
    loop: LoopName,
    night: Annotated[
        str, typer.Option("--night", metavar="NIGHT", help="A shipped night, or a path.")
    ] = "quiet",
    case: Annotated[
        str | None,
        typer.Option(
            "--case", metavar="KEY", help="One case of a proof, in the place of a night."
        ),
    ] = None,
    seed: Annotated[
        int, typer.Option("--seed", min=0, max=2**31 - 1, help="Seed of every random choice.")
    ] = 1,
    json: Json = None,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE", help="Write a page to look at or print.")
    ] = None,
    csv: Annotated[
        str | None,
        typer.Option("--csv", metavar="FILE", help="Write what the board saw, a row a second."),
    ] = None,
    journal: Annotated[
        str | None,
        typer.Option("--journal", metavar="FILE", help="Keep every tick, to replay it."),
    ] = None,
    logic: LogicName = None,
    units: Units = None,
    on: Day = None,
) -> None:
    """Run one night in closed loop and tell what would happen."""
    from coilward.desk.rehearse import no_journal_of, rehearse_case, rehearse_night

    if case is not None:
        no_journal_of(journal, "--case", case)
        raise typer.Exit(
            rehearse_case(
                loop, case, today=day(on, loop), json_name=json, page_name=page, units=units,
                logic_name=logic, csv_name=csv,
            )
        )
    raise typer.Exit(
        rehearse_night(
            loop, night, seed=seed, today=day(on, loop), json_name=json, page_name=page,
            units=units, logic_name=logic, csv_name=csv, journal_name=journal,
        )
    )


@app.command(epilog="Example: coilward interlocks greenhouse --form proof-test.html")
def interlocks(
    loop: LoopName,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE", help="Write both tables to print.")
    ] = None,
    form: Annotated[
        str | None,
        typer.Option("--form", metavar="FILE", help="Write a proof-test form to print and sign."),
    ] = None,
    card: Annotated[
        str | None,
        typer.Option("--card", metavar="FILE", help="Write the card that hangs at the burner."),
    ] = None,
    picture: Annotated[
        str | None, typer.Option("--picture", metavar="FILE", help="Write the phases as SVG.")
    ] = None,
    json: Json = None,
    units: Units = None,
    on: Day = None,
) -> None:
    """Print cause and effect and the phases with this loop's numbers."""
    from coilward.desk.interlocks import show_interlocks

    raise typer.Exit(
        show_interlocks(
            loop, today=day(on, loop), json_name=json, page_name=page, form_name=form,
            card_name=card, picture_name=picture, units=units,
        )
    )


@app.command(epilog="Example: coilward prove greenhouse --runs 299 --page proof.html")
def prove(
    loop: LoopName,
    faults: Annotated[
        str | None,
        typer.Option("--faults", metavar="NAMES", help="Only these, with commas between."),
    ] = None,
    runs: Annotated[
        int | None,
        typer.Option("--runs", min=1, help="Cases of each fault."),
    ] = None,
    confidence: Annotated[
        float | None,
        typer.Option(
            "--confidence", min=0.5, max=0.999999,
            help="Share of cases that has to end well, shown at 95 %: 0.9999 takes 29,956 cases.",
        ),
    ] = None,
    pairs: Annotated[
        bool, typer.Option("--pairs", help="Try every pair of faults as well.")
    ] = False,
    seed: Annotated[
        int, typer.Option("--seed", min=0, max=2**31 - 1, help="Seed of every random choice.")
    ] = 1,
    workers: Annotated[
        int, typer.Option("--workers", min=1, max=1024, help="Processes on this machine.")
    ] = 1,
    cluster: Annotated[
        str | None,
        typer.Option("--cluster", metavar="ADDRESS", help="Scheduler of many machines (dask)."),
    ] = None,
    logic: LogicName = None,
    store: Annotated[
        str | None,
        typer.Option(
            "--store", metavar="FOLDER", help="Where finished cases are kept, to go on later."
        ),
    ] = None,
    json: Json = None,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE", help="Write the proof to print.")
    ] = None,
    units: Units = None,
    on: Day = None,
) -> None:
    """Try every fault of the catalogue on a loop, and tell what no logic survives."""
    from coilward.desk.prove import Wanted, prove_loop

    wanted = Wanted(faults, runs, confidence, pairs, seed, workers, cluster, logic, store)
    raise typer.Exit(
        prove_loop(
            loop, wanted, today=day(on, loop), json_name=json, page_name=page, units=units
        )
    )


@app.command(epilog="Example: coilward worst greenhouse --runs 2000 --page worst.html")
def worst(
    loop: LoopName,
    runs: Annotated[int, typer.Option("--runs", min=1, help="Nights to try.")] = 1000,
    faults: Annotated[
        str | None,
        typer.Option("--faults", metavar="NAMES", help="Only these, with commas between."),
    ] = None,
    seed: Annotated[
        int, typer.Option("--seed", min=0, max=2**31 - 1, help="Seed of every random choice.")
    ] = 1,
    logic: LogicName = None,
    json: Json = None,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE", help="Write the night to print.")
    ] = None,
    units: Units = None,
    on: Day = None,
) -> None:
    """Hunt for the night with the smallest margin, and tell its shortest story."""
    from coilward.desk.worst import Wanted, hunt_loop

    raise typer.Exit(
        hunt_loop(
            loop, Wanted(faults, runs, seed, logic), today=day(on, loop), json_name=json,
            page_name=page, units=units,
        )
    )


@app.command(epilog="Example: coilward tune mine.toml --write --page tuned.html")
def tune(
    loop: LoopName,
    seed: Annotated[
        int, typer.Option("--seed", min=0, max=2**31 - 1, help="Seed of every random choice.")
    ] = 1,
    write: Write = False,
    json: Json = None,
    page: Annotated[
        str | None,
        typer.Option("--page", metavar="FILE", help="Write the comparison to look at or print."),
    ] = None,
    units: Units = None,
    on: Day = None,
) -> None:
    """Measure the valve loop over its whole range, and propose settings for it."""
    from coilward.desk.tune import tune_loop

    raise typer.Exit(
        tune_loop(
            loop, seed=seed, today=day(on, loop), write=write, json_name=json, page_name=page,
            units=units,
        )
    )


@app.command(epilog="Example: coilward learn mine.toml night.csv --write --page learned.html")
def learn(
    loop: LoopName,
    log: Annotated[
        str, typer.Argument(metavar="LOG", help="A CSV of a run, headed with names and units.")
    ],
    columns: Annotated[
        str | None,
        typer.Option(
            "--columns", metavar="MAP", help="A file that says which column is what, in which unit."
        ),
    ] = None,
    write: Write = False,
    even_if_less_safe: LessSafe = False,
    json: Json = None,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE", help="Write a page to look at or print.")
    ] = None,
    units: Units = None,
    on: Day = None,
) -> None:
    """Learn a loop's numbers from a logged run, with their uncertainties."""
    from coilward.desk.learn import learn_loop

    raise typer.Exit(
        learn_loop(
            loop, log, columns=columns, today=day(on, loop), write=write,
            even_if_less_safe=even_if_less_safe, json_name=json, page_name=page, units=units,
        )
    )


@app.command(epilog="Example: coilward loops greenhouse > my-loop.toml")
def loops(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="Print this one.")] = None,
) -> None:
    """List the shipped loops, or print one to copy."""
    from coilward.desk.listing import list_loops

    raise typer.Exit(list_loops(name))


@app.command(epilog="Example: coilward nights pump-dies > my-night.toml")
def nights(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="Print this one.")] = None,
) -> None:
    """List the shipped nights, or print one to copy."""
    from coilward.desk.listing import list_nights

    raise typer.Exit(list_nights(name))


app.add_typer(wired.app)
app.add_typer(calibrating.app, name="calibrate")
app.add_typer(journaling.app, name="journal")


@app.callback(invoke_without_command=True)
def _version(
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    if version:
        from importlib.metadata import version as version_of

        sys.stdout.write(f"coilward {version_of('coilward')}\n")
        raise typer.Exit


def main() -> None:
    """Run the command and leave with its exit code; never a traceback for a person's mistake."""
    if hasattr(signal, "SIGPIPE"):
        # A reader that stops listening ends the command, as with any other command.
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    sys.unraisablehook = _not_lost
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure:
            reconfigure(errors="replace")
    try:
        app()
    except InputRefused as refused:
        from coilward.desk.console import say_refused

        say_refused(refused)
        sys.exit(2)
    except OSError as error:
        sys.stderr.write(f"error: {error.filename or 'output'}: {error.strerror}\n")
        sys.exit(2)


def _not_lost(lost: UnraisableHookArgs) -> None:
    """Ctrl-C that falls into a finalizer is only reported by the interpreter: press it again."""
    if issubclass(lost.exc_type, KeyboardInterrupt):
        threading.Timer(0.05, _press_again).start()
    else:
        sys.__unraisablehook__(lost)


def _press_again() -> None:
    main_thread = threading.main_thread().ident
    if hasattr(signal, "pthread_kill") and main_thread is not None:
        signal.pthread_kill(main_thread, signal.SIGINT)
    else:
        _thread.interrupt_main()
