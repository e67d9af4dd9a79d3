"""`coilward journal`: its four commands, and their options."""

from __future__ import annotations

from typing import Annotated

import typer

from coilward.desk.options import Json

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode="rich",
    help="Look into the journal of runs, rehearsals and bench tests: a file with every tick.",
    epilog="Example: coilward journal list night.journal",
)

JournalName = Annotated[str, typer.Argument(metavar="FILE", help="The journal.")]
SessionNumber = Annotated[
    int | None,
    typer.Option("--session", metavar="N", min=1, help="Which one; the newest by default."),
]
From = Annotated[
    str | None,
    typer.Option("--from", metavar="TIME", help="Since its beginning, such as '30 min'."),
]
To = Annotated[str | None, typer.Option("--to", metavar="TIME", help="Likewise, and included.")]


@app.command(name="list", epilog="Example: coilward journal list night.journal")
def list_sessions(journal: JournalName, json: Json = None) -> None:
    """List its sessions, trips, notes and events."""
    from coilward.desk.journal import list_journal

    raise typer.Exit(list_journal(journal, json_name=json))


@app.command(epilog="Example: coilward journal check night.journal")
def check(journal: JournalName) -> None:
    """Tell whether all of it is what was written, and what is missing."""
    from coilward.desk.journal import check_journal

    raise typer.Exit(check_journal(journal))


@app.command(epilog="Example: coilward journal export night.journal --csv night.csv --to '2 h'")
def export(
    journal: JournalName,
    csv: Annotated[
        str | None,
        typer.Option("--csv", metavar="FILE", help="As a table; - for the console."),
    ] = None,
    mcap: Annotated[
        str | None,
        typer.Option("--mcap", metavar="FILE", help="As an MCAP file, with all that is kept."),
    ] = None,
    session: SessionNumber = None,
    begin: From = None,
    end: To = None,
    columns: Annotated[
        str | None,
        typer.Option(
            "--columns", metavar="NAMES",
            help="Only these, with commas between; 'all' for what is remembered as well.",
        ),
    ] = None,
) -> None:
    """Write ticks as a CSV, one row a tick, with units in the names; or as an MCAP file."""
    from coilward.desk.exporting import export_journal

    raise typer.Exit(
        export_journal(
            journal, csv, mcap, session=session, begin=begin, end=end, columns=columns
        )
    )


@app.command(epilog="Example: coilward journal note run.journal 'two logs of beech, 3 kg'")
def note(
    journal: JournalName,
    words: Annotated[str, typer.Argument(metavar="WORDS", help="What is to be remembered.")],
) -> None:
    """Keep a note with the time, also while a run writes."""
    from coilward.desk.journal import note_in_journal

    raise typer.Exit(note_in_journal(journal, words))
