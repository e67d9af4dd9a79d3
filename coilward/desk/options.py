"""Options that several commands share."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal

import typer

LoopName = Annotated[str, typer.Argument(metavar="LOOP", help="A shipped loop, or a path.")]
Units = Annotated[
    Literal["si", "us"] | None,
    typer.Option("--units", help="Units of the output; the loop file's own by default."),
]
Json = Annotated[
    str | None, typer.Option("--json", metavar="FILE", help="Write JSON; - for the console.")
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

Write = Annotated[
    bool, typer.Option("--write", help="Write into the loop file what would change in it.")
]
LessSafe = Annotated[
    bool,
    typer.Option(
        "--even-if-less-safe",
        help="Write also where a trip, window, deadline or minimum flow gets less safe.",
    ),
]


def day(on: datetime | None, loop: str) -> date:
    """The day that was asked for; else today, or for a shipped loop the day it was written."""
    if on:
        return on.date()
    from coilward.loop.shipped import WRITTEN, loop_names

    return WRITTEN if loop in loop_names() else date.today()
