"""The consoles: what goes to a person on standard output, progress and faults on the other."""

from __future__ import annotations

import math
import sys
import textwrap
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from coilward.loop.errors import InputRefused

if TYPE_CHECKING:
    from collections.abc import Callable

    from rich.console import Console

    from coilward.desk.findings import Findings
    from coilward.desk.verdict import Verdict, Word

MARKS: Final[dict[Word, tuple[str, str]]] = {
    "may be lit": ("( o )", "bold green"),
    "attended only": ("/ ! \\", "bold yellow"),
    "do not light": ("[ X ]", "bold red"),
}
"""A shape and a colour beside the word, so that neither is needed."""
WIDEST: Final = 100
"""Longer lines are hard to follow."""


def out() -> Console:
    """Standard output, plain text where it is not a terminal."""
    from rich.console import Console

    return Console(highlight=False, markup=False, emoji=False)


def err() -> Console:
    """Standard error."""
    from rich.console import Console

    return Console(stderr=True, highlight=False, markup=False, emoji=False)


def heading(console: Console, text: str) -> None:
    """A heading with a blank line before it."""
    console.print()
    console.print(text, style="bold")


def item(console: Console, text: str, *, indent: int = 2, style: str = "") -> None:
    """A paragraph that stays indented where it wraps."""
    _wrapped(console, text, " " * indent, " " * indent, style)


def say_files(console: Console, names: Iterable[str]) -> None:
    """Which files were written; nothing where none was."""
    written = ", ".join(names)
    if written:
        heading(console, "Written")
        item(console, written)


def to_copy(console: Console, text: str, *, indent: int = 2) -> None:
    """A command to copy: on one line, however long."""
    console.print(" " * indent + text, soft_wrap=True)


def lead(console: Console, label: str, text: str, *, width: int, indent: int = 2) -> None:
    """A label in a column of that width, and text that wraps beside it."""
    margin = " " * indent
    _wrapped(console, text, f"{margin}{label:{width}} ", margin + " " * (width + 1), "")


def _wrapped(console: Console, text: str, first: str, rest: str, style: str) -> None:
    lines = textwrap.wrap(
        text, min(console.width, WIDEST), initial_indent=first, subsequent_indent=rest,
        break_on_hyphens=False,
    )  # fmt: skip
    for line in lines:
        console.print(line, style=style, soft_wrap=True)


def say_verdict(console: Console, verdict: Verdict) -> None:
    """The word with its shape, then every reason."""
    shape, style = MARKS[verdict.word]
    heading(console, "Verdict")
    item(console, f"{shape}  {verdict.word.upper()}", style=style)
    for reason in verdict.reasons:
        lead(console, "-", f"{reason.verdict}: {reason.text}", width=1, indent=4)


def say_stops(console: Console, found: Findings, then: str) -> None:
    """What forbids a fire, the conclusion, and what that means here."""
    for finding in found.every:
        if finding.severity == "stop":
            lead(console, "stop", finding.text, width=4)
    item(console, f"{found.conclusion} {then}", style="bold")


def say_refused(refused: InputRefused) -> None:
    """One message a fault on standard error, each on its own line, never wrapped."""
    for fault in refused.faults:
        sys.stderr.write(f"error: {fault}\n")


@contextmanager
def progress(words: str) -> Iterator[Callable[[float], None] | None]:
    """A progress bar on standard error, which takes a share from 0 to 1.

    Gives None where standard error is not a terminal.
    """
    console = err()
    if not console.is_terminal:
        yield None
        return
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn())
    with Progress(*columns, console=console, transient=True) as bar:
        # Until the first share comes the work is being prepared: the bar only shows life.
        task = bar.add_task(words, total=None)
        yield lambda share: bar.update(task, total=1.0, completed=share)


@contextmanager
def counted(words: str) -> Iterator[Callable[[int, int, float], None] | None]:
    """A bar on standard error that takes what is done, what is in all, and the seconds left.

    Infinite seconds mean that no pace is known yet. Gives None where standard error is not a
    terminal.
    """
    console = err()
    if not console.is_terminal:
        yield None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(),
        TextColumn("{task.fields[left]}"),
    )  # fmt: skip
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task(words, total=None, left="")
        yield lambda done, total, left_s: bar.update(
            task, total=total, completed=done, left=time_left(left_s)
        )


def time_left(seconds: float) -> str:
    """The time left in words, no finer than it can be known."""
    if not math.isfinite(seconds):
        return "time left not known yet"
    if seconds < 60:
        return "under a minute left"
    minutes = round(seconds / 60)
    if minutes < 120:
        return f"about {minutes} min left"
    return f"about {minutes / 60:.0f} h left"
