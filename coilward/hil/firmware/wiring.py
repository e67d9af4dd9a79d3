"""The C that makes the firmware that of one loop: its constants, and how its readings are made."""

from __future__ import annotations

from datetime import date

from coilward import __version__
from coilward.controller.constants import Constants
from coilward.controller.firmware.loop_constants import files_of
from coilward.hil.converting import THERMOMETERS, converter
from coilward.loop.model import Loop, Thermometer


def loop_files(
    loop: Loop, constants: Constants, day: date, processor: str, *, bench_only: bool = False
) -> dict[str, str]:
    """Text by file name, to be compiled with the sources that are the same for every loop.

    ``bench_only``: the program drives nothing without the bench's jumper.
    """
    convert = converter(loop)
    rows = [_row(convert.thermometers[name]) for name in THERMOMETERS.values()]
    lines = [
        "/* Made from one loop; don't edit. */", '#include "loop.h"', "",
        "const Wiring LOOP_WIRING = {",
        f"    .pulses_per_l = {convert.pulses_per_l.hex()}, /* {convert.pulses_per_l!r} */",
        "    .thermometers = {", *rows, "    },", "};",
        f'const char PROGRAM[] = "coilward-{processor}-{__version__}";',
        f"const bool LOOP_BENCH_ONLY = {str(bench_only).lower()};", "",
    ]  # fmt: skip
    return {**files_of(loop.name, day, constants), "loop.c": "\n".join(lines)}


def _row(fitted: Thermometer | None) -> str:
    kind, numbers = "AS_SENT", (0.0, 0.0, 0.0)
    if fitted is not None and fitted.ntc is not None:
        kind, numbers = "THERMISTOR", (fitted.ntc.a, fitted.ntc.b, fitted.ntc.c)
    elif fitted is not None and fitted.correction is not None:
        kind, numbers = "CORRECTED", (fitted.correction.gain, fitted.correction.zero_k, 0.0)
    return f"        {{{kind}, {', '.join(each.hex() for each in numbers)}}},"
