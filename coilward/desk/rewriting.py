"""A loop file with some of its values set anew: shown first, then written whole or not at all.

    rewrite = plan("mine.toml", [Change("meter.pulses", 346.0)], today=today, note="weighed ...")
    rewrite.diff()                     # the lines that change, to show
    put(rewrite)                       # refused where a limit would get less safe

No copy of the old file is kept: what was there stands in the diff, and the file is replaced in
one step, so that an interruption leaves the old one.
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from coilward.desk.console import heading, item, lead, to_copy
from coilward.desk.files import claim, write_whole
from coilward.desk.reading import limit_faults_in
from coilward.loop.document import read_loop, text_of
from coilward.loop.editing import Change, edited, read_edited
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.model import Loop
from coilward.loop.safer import Moved, less_safe
from coilward.loop.shipped import loop_names, loop_text
from coilward.loop.units import show

if TYPE_CHECKING:
    from rich.console import Console

FLAG = "--even-if-less-safe"


@dataclass(frozen=True)
class Rewrite:
    """A loop file before and after; nothing is written yet."""

    name: str
    """As a person typed it: a path, or the name of a shipped loop."""
    before: str
    after: str
    raw: bytes
    """What the file held when it was read."""
    loop: Loop
    """The loop as it would be read after."""
    less_safe: tuple[Moved, ...]
    """Every limit that would move to its unsafe side."""

    def diff(self) -> list[str]:
        """The lines that go, with a minus, and those that come, with a plus; a line number first.

        Numbers are those of the old file.
        """
        old, new = self.before.splitlines(), self.after.splitlines()
        told = []
        blocks = difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
        for what, first, last, start, stop in blocks:
            if what == "equal":
                continue
            for number in range(max(last - first, stop - start)):
                if first + number < last:
                    told.append(f"{first + number + 1:4} - {old[first + number]}")
                if start + number < stop:
                    told.append(f"{min(first + number + 1, len(old)):4} + {new[start + number]}")
        return told


def plan(name: str, changes: Sequence[Change], *, today: date, note: str = "") -> Rewrite:
    """What a loop file would be with the changes made; a shipped loop may be planned, not written.

    `today` decides which passive device counts; `note` goes behind every changed line.

    Raises InputRefused with every fault of the file as it is or as it would be, among them a typed
    limit that would then be less safe than what follows from the rest.
    """
    shipped = name in loop_names()
    raw = b"" if shipped else _raw(name)
    file, text = text_of(name, "loop", loop_names(), loop_text)
    loop = read_loop(name)
    result = edited(text, changes, file=file, note=note)
    after = read_edited(result, file)
    had = {fault.key for fault in limit_faults_in(file, text, loop, today)}
    faults = [each for each in limit_faults_in(file, result, after, today) if each.key not in had]
    if faults:
        raise InputRefused(faults)
    return Rewrite(name, text, result, raw, after, tuple(less_safe(loop, after, today)))


def put(rewrite: Rewrite, *, even_if_less_safe: bool = False) -> None:
    """Write the file: in one step, through a link, with its rights, byte order mark and line ends.

    Raises InputRefused, with nothing written, for a shipped loop, for a file that can't be
    written or has changed since it was read, and, unless it is asked for, where a limit would get
    less safe.
    """
    name = rewrite.name
    if name in loop_names():
        raise InputRefused([
            Fault(name, None, "", "", "a shipped loop can't be written to",
                  f"a copy of it: coilward loops {name} > my-loop.toml, then the same command "
                  "with my-loop.toml")
        ])  # fmt: skip
    if rewrite.less_safe and not even_if_less_safe:
        raise InputRefused([_less_safe(name, each, rewrite.loop) for each in rewrite.less_safe])
    claim({"--write": name}, [])
    if _raw(name) != rewrite.raw:
        raise InputRefused([
            Fault(name, None, "", "", "the file has changed since it was read",
                  "the same command once more")
        ])  # fmt: skip
    mark = "\ufeff" if rewrite.raw.startswith(b"\xef\xbb\xbf") else ""
    if rewrite.after != rewrite.before:
        write_whole(name, mark + rewrite.after)


def told(moved: Moved, loop: Loop) -> str:
    """Which limit moves from what to what, in a person's units."""
    bound = moved.bound
    before, after = (show(value, bound.unit, loop.units) for value in moved[1:])
    if before == after:
        before, after = (f"{value:.6g}" for value in moved[1:])
    return f"{bound.words} from {before} to {after}, where {bound.safer} is safer"


def say_rewrite(console: Console, rewrite: Rewrite, *, written: bool) -> None:
    """The lines of the loop file that change, and every limit that gets less safe."""
    heading(console, f"The loop file, {'as written' if written else 'if it were written'}")
    lines = rewrite.diff()
    if not lines:
        item(console, "No line changes.")
    for line in lines:
        to_copy(console, line)
    for moved in rewrite.less_safe:
        lead(console, "!", f"Less safe: {told(moved, rewrite.loop)}.", width=1)
    if lines and not written:
        item(console, "Nothing was written: --write does it.")


def _less_safe(name: str, moved: Moved, loop: Loop) -> Fault:
    return Fault(
        name, None, "", "", f"this would move a limit to its unsafe side: {told(moved, loop)}",
        f"a change that moves none, or {FLAG} if that is meant",
    )  # fmt: skip


def _raw(name: str) -> bytes:
    """The bytes of the file; empty where it can't be read, which the reader tells of."""
    try:
        return Path(name).read_bytes() if Path(name).is_file() else b""
    except (OSError, ValueError):
        return b""
