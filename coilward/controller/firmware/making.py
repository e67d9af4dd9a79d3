"""Every file of the core, made anew from the controller as it is."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from coilward.controller.firmware import CORE
from coilward.controller.firmware.tables import table_files
from coilward.controller.firmware.translating.files import Files
from coilward.controller.firmware.translating.flattening import flat_files
from coilward.controller.firmware.translating.kinds import Structure
from coilward.controller.firmware.translating.program import Program
from coilward.controller.firmware.translating.sources import PACKAGE
from coilward.controller.state import State
from coilward.controller.types import Commands, Readings, Requests

BY_HAND = ("coil.h", "coil.c")
"""Files of the core that are written by hand: the way in."""
ROOTS = (
    (f"{PACKAGE}.decide", "decided"), (f"{PACKAGE}.state", "is_sound"),
    (f"{PACKAGE}.state", "restarted"), (f"{PACKAGE}.state", "first_state"),
    (f"{PACKAGE}.state", "after_reboot"),
)  # fmt: skip
"""Functions that the way in calls; everything that they call comes with them."""


@cache
def program() -> Program:
    """The controller with all kinds known. Raises InputRefused for what has no translation."""
    return Program(ROOTS)


def core_files() -> dict[str, str]:
    """File name to text, of all that is made."""
    found = program()
    kinds: list[Structure] = [
        found.sources.structure(cls) for cls in (Readings, Requests, State, Commands)
    ]
    readings, requests, state, commands = kinds
    flat = flat_files(readings, requests, state, commands)
    return {**Files(found).written(), **flat, **table_files()}


def stale(folder: Path = CORE) -> list[str]:
    """Files that differ from what would be made, that are missing or too many."""
    wanted = core_files()
    there = {path.name for path in folder.iterdir()} - set(BY_HAND)
    different = {
        name for name, text in wanted.items()
        if name not in there or (folder / name).read_text("utf-8") != text
    }
    return sorted(different | (there - set(wanted)))


def write_core(folder: Path = CORE) -> list[str]:
    """Makes every file that is stale; the names of those."""
    wanted = core_files()
    changed = stale(folder)
    for name in changed:
        if name in wanted:
            (folder / name).write_text(wanted[name], "utf-8")
        else:
            (folder / name).unlink()
    return changed
