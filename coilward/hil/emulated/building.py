"""Builds the firmware of one loop for a processor; the compiler is the one in the wheel ziglang."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Final, NamedTuple

from coilward.controller.constants import Constants
from coilward.controller.firmware import ARITHMETIC, CORE
from coilward.hil import firmware as wire
from coilward.hil.firmware.wiring import loop_files
from coilward.hil.host_core import RULES
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.model import Loop

HERE: Final = Path(__file__).parent
FOLDERS: Final = (CORE, Path(wire.__file__).parent, HERE, ARITHMETIC)
"""Where the sources are that are the same for every loop."""
BARE: Final = (
    "-target", "thumb-freestanding-eabi", "-ffunction-sections", "-fdata-sections",
    "-fno-unwind-tables", "-fno-asynchronous-unwind-tables", "-fomit-frame-pointer",
    "-Wl,--gc-sections",
    f"-Wl,-T,{HERE / 'board.ld'}",
)  # fmt: skip
"""A board without an operating system: what nothing calls is left out."""


class Processor(NamedTuple):
    """What to build for."""

    name: str
    cpu: str
    """As the compiler calls it."""
    emulated: str
    """As the emulator calls it: what this one does not know, it refuses to run."""


M4: Final = Processor("cortex-m4", "cortex_m4", "CORTEX_M4")
M0_PLUS: Final = Processor("cortex-m0plus", "cortex_m0plus", "CORTEX_M0")


def build(
    loop: Loop, constants: Constants, day: date, processor: Processor = M4, *,
    beside: Sequence[Path] = (), kept: Sequence[str] = (),
) -> bytes:  # fmt: skip
    """The image of this loop's firmware as an ELF file; the day is that of the constants.

    ``beside`` are folders with more sources, ``kept`` functions that stay without a caller.
    Raises InputRefused where there is no compiler, RuntimeError where it refuses the sources.
    """
    with tempfile.TemporaryDirectory() as folder:
        for name, text in loop_files(loop, constants, day, processor.name).items():
            (Path(folder) / name).write_text(text, "utf-8")
        return compiled((*FOLDERS, *beside, Path(folder)), processor, kept)


def compiled(
    folders: Sequence[Path], processor: Processor, kept: Sequence[str] = ()
) -> bytes:
    """The image of all sources in some folders. Errors as `build`."""
    need("ziglang")
    files = [str(file) for each in folders for file in sorted(each.glob("*.c"))]
    with tempfile.TemporaryDirectory() as made:
        image = Path(made) / "board.elf"
        command = [
            sys.executable, "-m", "ziglang", "cc", *BARE, f"-mcpu={processor.cpu}", *RULES,
            *(f"-I{each}" for each in folders), *(f"-Wl,-u,{name}" for name in kept), *files,
            "-o", str(image),
        ]  # fmt: skip
        done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603
        if done.returncode != 0:
            raise RuntimeError(f"the firmware does not compile:\n{done.stderr[-4000:]}")
        return image.read_bytes()


def need(*libraries: str) -> None:
    """Raises InputRefused where one of the optional libraries is not there."""
    missing = [name for name in libraries if importlib.util.find_spec(name) is None]
    if missing:
        reason = f"{' and '.join(missing)} not installed"
        wanted = "pip install 'coilward[firmware]'"
        raise InputRefused([Fault("--emulated, --verify", None, "", "", reason, wanted)])
