"""Builds the firmware of one loop for a processor; the compiler is the one in the wheel ziglang."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final, NamedTuple

from coilward import __version__, controller, hil
from coilward.controller.constants import Constants
from coilward.hil.converting import THERMOMETERS, converter
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.model import Loop, Thermometer

CORE: Final = Path(controller.__file__).parent / "firmware"
FOLDERS: Final = (
    CORE / "core", Path(hil.__file__).parent / "firmware", Path(__file__).parent,
)  # fmt: skip
FLAGS: Final = (
    "-std=c99", "-O2", "-ffp-contract=off", "-Wall", "-Wextra", "-Wconversion", "-Werror",
    "-ffunction-sections", "-fdata-sections", "-fno-unwind-tables",
    "-fno-asynchronous-unwind-tables", "-Wl,--gc-sections",
)  # fmt: skip
WHOLE: Final = ("NOT_KNOWN", "NO_LIMIT")


class Processor(NamedTuple):
    """What to build for."""

    name: str
    cpu: str
    """As the compiler calls it."""


M4: Final = Processor("cortex-m4", "cortex_m4")
M0_PLUS: Final = Processor("cortex-m0plus", "cortex_m0plus")


def build(loop: Loop, constants: Constants, processor: Processor = M4) -> bytes:
    """The image of this loop's firmware as an ELF file.

    Raises InputRefused where there is no compiler.
    """
    need("ziglang")
    with tempfile.TemporaryDirectory() as folder:
        source, image = Path(folder) / "loop.c", Path(folder) / "board.elf"
        source.write_text(loop_source(loop, constants, processor), "utf-8")
        files = [str(file) for each in FOLDERS for file in sorted(each.glob("*.c"))]
        command = [
            sys.executable, "-m", "ziglang", "cc", "-target", "thumb-freestanding-eabi",
            f"-mcpu={processor.cpu}", *FLAGS, *(f"-I{each}" for each in FOLDERS),
            f"-Wl,-T,{Path(__file__).parent / 'board.ld'}", *files, str(source), "-o", str(image),
        ]  # fmt: skip
        done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603
        if done.returncode != 0:
            raise RuntimeError(f"the firmware does not compile:\n{done.stderr}")
        return image.read_bytes()


def need(*libraries: str) -> None:
    """Raises InputRefused where one of the optional libraries is not there."""
    missing = [name for name in libraries if importlib.util.find_spec(name) is None]
    if missing:
        reason = f"{' and '.join(missing)} not installed"
        raise InputRefused(
            [Fault("--emulated", None, "", "", reason, "pip install 'coilward[firmware]'")]
        )


def loop_source(loop: Loop, constants: Constants, processor: Processor) -> str:
    """The C source that makes the firmware that of one loop."""
    convert = converter(loop)
    fitted = ", ".join(_thermometer(convert.thermometers[name]) for name in THERMOMETERS.values())
    program = f"coilward-{processor.name}-{__version__}"
    return "\n".join([
        '#include "loop.h"', "",
        f"const Constants LOOP_CONSTANTS = {c_value(constants)};",
        f"const Wiring LOOP_WIRING = {{{c_value(convert.pulses_per_l)}, {{{fitted}}}}};",
        f'const char PROGRAM[] = "{program}";', "",
    ])  # fmt: skip


def _thermometer(fitted: Thermometer | None) -> str:
    kind, numbers = "AS_SENT", (0.0, 0.0, 0.0)
    if fitted is not None and fitted.ntc is not None:
        kind, numbers = "THERMISTOR", (fitted.ntc.a, fitted.ntc.b, fitted.ntc.c)
    elif fitted is not None and fitted.correction is not None:
        kind, numbers = "CORRECTED", (fitted.correction.gain, fitted.correction.zero_k, 0.0)
    return f"{{{kind}, {', '.join(map(c_value, numbers))}}}"


def c_value(value: object) -> str:
    """A value as C writes it, to the last bit."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return f"INT64_C({value})"
    if isinstance(value, float):
        return "NO_LIMIT" if value == float("inf") else value.hex()
    if isinstance(value, tuple):
        inside = ", ".join(c_value(each) for each in value)
        return f"{{{inside}}}" if hasattr(value, "_fields") else f"{{{{{inside}}}}}"
    raise TypeError(f"{value!r} has no C")
