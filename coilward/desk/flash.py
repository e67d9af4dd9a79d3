"""`coilward flash`: the folder of a board's program, and that very folder as machine code."""

from __future__ import annotations

import os
import tempfile
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from coilward.desk.console import heading, item, out, progress, say_stops
from coilward.desk.files import claim, deliver
from coilward.loop.errors import Fault, InputRefused

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console

    from coilward.desk.tripping import Setting
    from coilward.hil.flashing.boards import Board
    from coilward.hil.flashing.verifying import Verified
    from coilward.simulator.night import Night

NIGHTS: Final = ("pump-dies", "board-reboots")
"""What the machine code is run through where no night is named."""


class Wanted(NamedTuple):
    """What is asked for, as typed."""

    folder: str | None
    board: str
    verify: bool
    nights: list[str]
    seed: int
    bench_only: bool


def flash_loop(loop_name: str, wanted: Wanted, *, today: date, json_name: str | None) -> int:
    """Write the folder, run it as machine code, or both; 1 for a loop that must not be lit.

    1 also where a tick differs. Raises InputRefused for a bad loop, night, board or folder before
    anything is written.
    """
    claim({"--json": json_name}, [loop_name, *wanted.nights])
    board = _board(wanted)
    _free(wanted.folder)
    from coilward.controller.constants import constants_for
    from coilward.desk.findings import findings_on
    from coilward.desk.reading import checked_loop, possible_night
    from coilward.desk.tripping import Setting
    from coilward.loop.derived import derive

    loop = checked_loop(loop_name, today)
    nights = [possible_night(name, loop) for name in wanted.nights or NIGHTS]
    derived = derive(loop, today)
    console = out()
    found = findings_on(loop, derived, today, loop.units)
    if found.stops and not wanted.bench_only:
        say_stops(
            console, found,
            "No program is made for such a loop, unless with --bench-only for the bench alone.",
        )  # fmt: skip
        return 1
    here = Setting(loop, derived, constants_for(loop, derived), loop.units)
    files = _files(here, board, today, bench_only=wanted.bench_only)
    results: list[Verified] = []
    with tempfile.TemporaryDirectory() as beside:
        folder = Path(beside) / "program"
        _write(folder, files)
        if wanted.verify:
            results = list(_run(folder, here, today, nights, wanted.seed))
    if wanted.folder and all(each.identical for each in results):
        _deliver(Path(wanted.folder), files)
    if not (json_name and deliver({json_name: _json(results, files)})):
        _say(console, here, board, wanted, results)
    return 0 if all(each.identical for each in results) else 1


def _board(wanted: Wanted) -> Board:
    from coilward.hil.flashing.boards import BOARDS

    if not wanted.folder and not wanted.verify:
        raise InputRefused([
            Fault("coilward flash", None, "", "", "nothing is asked for",
                  "--out FOLDER, --verify, or both")
        ])  # fmt: skip
    if wanted.board not in BOARDS:
        raise InputRefused([
            Fault("--board", None, "", wanted.board, "no hardware layer is filled in for it",
                  " or ".join(BOARDS) + "; for another board start from one of them")
        ])  # fmt: skip
    return BOARDS[wanted.board]


def _free(folder: str | None) -> None:
    """Refuse a folder that can't be made, or that holds anything."""
    if folder is None:
        return
    path = Path(folder)
    problem = ""
    if path.exists() and not path.is_dir():
        problem = "this is a file"
    elif path.is_dir() and any(path.iterdir()):
        problem = "this folder is not empty"
    elif not path.absolute().parent.is_dir():
        problem = "there is no such folder to make it in"
    elif not os.access(path.absolute().parent, os.W_OK):
        problem = "the folder can't be written to"
    if problem:
        raise InputRefused([Fault("--out", None, "", folder, problem, "a new or an empty folder")])


def _files(here: Setting, board: Board, today: date, *, bench_only: bool) -> dict[str, str]:
    from coilward.desk.flashing import readme
    from coilward.desk.page.card import card_page
    from coilward.hil.flashing.folder import folder_files

    files = folder_files(here.loop, here.constants, today, board, bench_only=bench_only)
    files["README.md"] = readme(here, board, today, bench_only=bench_only)
    files["card.html"] = card_page(here)
    return files


def _write(folder: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8", newline="\n")


def _deliver(folder: Path, files: dict[str, str]) -> None:
    """The whole folder in one step: it is there with all of its files, or not at all."""
    beside = Path(tempfile.mkdtemp(dir=folder.absolute().parent, prefix=f".{folder.name}."))
    try:
        _write(beside / "whole", files)
        if folder.is_dir():
            folder.rmdir()
        (beside / "whole").rename(folder)
        beside.rmdir()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputRefused([
            Fault("--out", None, "", str(folder), f"it can't be written ({reason})",
                  "a new or an empty folder")
        ]) from None  # fmt: skip


def _run(
    folder: Path, here: Setting, today: date, nights: list[Night], seed: int
) -> Iterator[Verified]:
    """Every night on either processor."""
    from coilward.hil.bench.settled import grounds
    from coilward.hil.emulated.building import M0_PLUS, M4
    from coilward.hil.flashing.verifying import image_of, verified
    from coilward.simulator.bench import Bench

    images = {processor: image_of(folder, processor) for processor in (M4, M0_PLUS)}
    plant = grounds(Bench(here.loop, today, "interpreted")).plant
    for night in nights:
        for processor, image in images.items():
            with progress(f"{night.name}, {processor.name}") as show:
                yield verified(
                    image, processor, here.loop, here.constants, today, night, plant, seed, show
                )


def _json(results: list[Verified], files: dict[str, str]) -> str:
    from coilward.desk.report_json import plain_json

    return plain_json({
        "files": sorted(files),
        "verified": [
            {
                "night": each.night, "processor": each.processor, "ticks": each.ticks,
                "differing": each.differing, "digest": each.digest, "expected": each.expected,
                "first": each.first,
            }
            for each in results
        ],
    })  # fmt: skip


def _say(
    console: Console, here: Setting, board: Board, wanted: Wanted, results: list[Verified]
) -> None:
    if results:
        heading(console, f"{here.loop.name}: as machine code, against the reference")
        for each in results:
            told = "identical" if each.identical else f"{each.differing} ticks differ"
            item(console, f"{each.night}, {each.processor}: {each.ticks} ticks, {told}, "
                 f"{each.digest}")  # fmt: skip
            if not each.identical:
                _say_first(console, each)
    if wanted.folder and all(each.identical for each in results):
        heading(console, f"{here.loop.name}: program for {board.words}")
        item(console, f"Written to {wanted.folder}. Read README.md there first.")
        if wanted.bench_only:
            item(console, "For the bench alone: without its jumper it moves nothing.", style="bold")
    elif wanted.folder:
        item(console, "Nothing was written.", style="bold")


def _say_first(console: Console, each: Verified) -> None:
    """The first tick that differs, with what either side remembers otherwise."""
    from coilward.hil.tick import FLOATS, WHOLES, flat

    item(console, each.first, style="bold")
    if each.states is None:
        return
    names = (*FLOATS, *WHOLES)
    code, reference = ([value for part in flat(state) for value in part] for state in each.states)
    for name, a, b in zip(names, code, reference, strict=True):
        if a != b and (a == a or b == b):
            item(console, f"{name}: {a!r} in the machine code, {b!r} in the reference", indent=4)
