"""The command `coilward`: options, exit codes, and what is said when something is refused.

Exit codes: 0 fine, 1 a finding against the loop, 2 bad input or use, 130 interrupted.
"""

from __future__ import annotations

import _thread
import signal
import sys
import threading
from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated, Literal

import typer

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

LoopName = Annotated[str, typer.Argument(metavar="LOOP", help="A shipped loop, or a path.")]
Units = Annotated[
    Literal["si", "us"] | None,
    typer.Option("--units", help="Units of the output; the loop file's own by default."),
]
Day = Annotated[
    datetime | None,
    typer.Option(
        "--on",
        metavar="DATE",
        formats=["%Y-%m-%d"],
        help="Count proofs of passive hardware as on that day; today by default, and for a "
        "shipped loop the day on which it was written.",
    ),
]

LogicName = Annotated[
    str | None,
    typer.Option(
        "--logic",
        metavar="MODULE:FUNCTION",
        help="Your own decision function in the place of ours; FILE.py:FUNCTION will do, too.",
    ),
]


@app.command(epilog="Example: coilward check greenhouse --units us")
def check(
    loop: LoopName,
    units: Units = None,
    json: Annotated[
        str | None, typer.Option("--json", metavar="FILE", help="Write JSON; - for the console.")
    ] = None,
    on: Day = None,
) -> None:
    """Read a loop file: what is wrong, forbidden or missing, and the numbers that follow."""
    from coilward.desk.check import check_loop

    raise typer.Exit(check_loop(loop, today=_day(on, loop), json_name=json, units=units))


@app.command(
    epilog="Example: coilward rehearse greenhouse --night pump-dies --seed 7 --page night.html"
)
def rehearse(
    loop: LoopName,
    night: Annotated[
        str, typer.Option("--night", metavar="NIGHT", help="A shipped night, or a path.")
    ] = "quiet",
    seed: Annotated[
        int, typer.Option("--seed", min=0, max=2**31 - 1, help="Seed of every random choice.")
    ] = 1,
    json: Annotated[
        str | None, typer.Option("--json", metavar="FILE", help="Write JSON; - for the console.")
    ] = None,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE", help="Write a page to look at or print.")
    ] = None,
    logic: LogicName = None,
    units: Units = None,
    on: Day = None,
) -> None:
    """Run one night in closed loop and tell what would happen."""
    from coilward.desk.rehearse import rehearse_night

    raise typer.Exit(
        rehearse_night(
            loop, night, seed=seed, today=_day(on, loop), json_name=json, page_name=page,
            units=units, logic_name=logic,
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


@app.callback(invoke_without_command=True)
def _version(
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    if version:
        from importlib.metadata import version as version_of

        sys.stdout.write(f"coilward {version_of('coilward')}\n")
        raise typer.Exit


def _day(on: datetime | None, loop: str) -> date:
    if on:
        return on.date()
    from coilward.loop.shipped import WRITTEN, loop_names

    return WRITTEN if loop in loop_names() else date.today()


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
