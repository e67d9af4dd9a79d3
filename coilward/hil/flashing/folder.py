"""Every file of the folder that becomes a board's program, but for what a person reads."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Final

from coilward.controller.constants import Constants
from coilward.controller.firmware import ARITHMETIC, CORE
from coilward.hil import firmware as wire
from coilward.hil.firmware.wiring import loop_files
from coilward.hil.flashing.boards import SOURCES, Board
from coilward.hil.flashing.vectors import scenes, vectors_file
from coilward.loop.model import Loop

HERE: Final = Path(__file__).parent
COPIED: Final = {
    "core": CORE,
    "arithmetic": ARITHMETIC,
    "wire": Path(wire.__file__).parent,
    "selftest": HERE / "selftest",
}
"""Folders whose sources are the same for every loop and every board."""
TESTED: Final = ("memory.c", "messages.c", "frames.c", "decimal_read.c", "big.c", "crc32.c")
"""Sources of the wire that the checksum of the self-test hangs on."""


def folder_files(
    loop: Loop, constants: Constants, day: date, board: Board, *, bench_only: bool
) -> dict[str, str]:
    """Text by path. ``day`` is that of the constants; a bench's program never drives by itself."""
    files = {
        f"{name}/{file.name}": file.read_text("utf-8")
        for name, folder in COPIED.items()
        for file in sorted((*folder.glob("*.c"), *folder.glob("*.h")))
    }
    for name in board.files:
        place = name if name == "CMakeLists.txt" else f"board/{name}"
        files[place] = (SOURCES / name).read_text("utf-8")
    made = loop_files(loop, constants, day, board.name, bench_only=bench_only)
    files |= {f"loop/{name}": text for name, text in made.items()}
    files["selftest/vectors.c"] = vectors_file(scenes(loop, day))
    files["Makefile"] = _makefile(board)
    return files


def _makefile(board: Board) -> str:
    text = (HERE / "Makefile.in").read_text("utf-8")
    filled = {
        "@cpu@": board.processor.name, "@zig@": board.processor.cpu, "@link@": board.link,
        "@tested@": " ".join(TESTED),
    }  # fmt: skip
    for mark, words in filled.items():
        text = text.replace(mark, words)
    return text
