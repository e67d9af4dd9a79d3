"""The C that makes the firmware that of one loop: its constants, and how its readings are made."""

from __future__ import annotations

import math
import struct
import zlib
from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from typing import Final, NamedTuple

from coilward import __version__
from coilward.controller.constants import Constants
from coilward.controller.firmware.loop_constants import fields, files_of
from coilward.controller.firmware.making import program
from coilward.controller.firmware.translating.kinds import Row, Structure
from coilward.controller.firmware.translating.naming import in_c
from coilward.hil.converting import THERMOMETERS, converter
from coilward.loop.model import Loop, Thermometer

QUARTERS: Final = 4
KINDS: Final = ("AS_SENT", "CORRECTED", "THERMISTOR")


class Member(NamedTuple):
    """One number of a loop, as C finds it."""

    base: str
    """Constants or Wiring."""
    name: str
    value: object


class Fit(NamedTuple):
    """How one thermometer's readings are made: see converting.h."""

    kind: int
    a: float
    b: float
    c: float


def loop_files(
    loop: Loop, constants: Constants, day: date, processor: str, *, bench_only: bool = False
) -> dict[str, str]:
    """Text by file name, to be compiled with the sources that are the same for every loop.

    ``bench_only``: the program drives nothing without the bench's jumper.
    """
    convert = converter(loop)
    fits = [_fit(convert.thermometers[name]) for name in THERMOMETERS.values()]
    wiring = [
        f"    .pulses_per_l = {convert.pulses_per_l.hex()}, /* {convert.pulses_per_l!r} */",
        "    .thermometers = {", *(f"        {_row(fit)}," for fit in fits), "    },",
    ]  # fmt: skip
    kind = program().sources.structure(Constants)
    members = list(_members(constants, kind, "")) + _wired(convert.pulses_per_l, fits)
    lines = [
        "/* Made from one loop; don't edit. */", '#include "loop.h"', "", "#include <stddef.h>",
        "", '#include "numbers.h"', "",
        "const Wiring LOOP_WIRING = {", *wiring, "};",
        "const Constants SPARE_CONSTANTS = {", *fields(constants, kind, 1), "};",
        "const Wiring SPARE_WIRING = {", *wiring, "};", "",
        f"const int LOOP_MEMBERS = {len(members)};",
        "const LoopMember LOOP_MEMBER[] = {", *map(_listed, members), "};",
        "const uint32_t LOOP_CRC[LOOP_QUARTERS] = {",
        *(f"    0x{crc:08X}," for crc in checksums(members)), "};", "",
        f'const char PROGRAM[] = "coilward-{processor}-{__version__}";',
        f"const bool LOOP_BENCH_ONLY = {str(bench_only).lower()};", "",
    ]  # fmt: skip
    return {**files_of(loop.name, day, constants), "loop.c": "\n".join(lines)}


def checksums(members: list[Member]) -> list[int]:
    """CRC-32 of each quarter of the numbers: eight bytes each, the lowest first."""
    edges = [quarter * len(members) // QUARTERS for quarter in range(QUARTERS + 1)]
    return [
        zlib.crc32(b"".join(_bytes(member.value) for member in members[begin:end]))
        for begin, end in pairwise(edges)
    ]


def _bytes(value: object) -> bytes:
    if isinstance(value, float):
        return struct.pack("<d", value if value == value else math.nan)
    return struct.pack("<q", value)


def _members(value: object, kind: Structure, before: str) -> Iterator[Member]:
    for name, each in kind.fields:
        part, path = getattr(value, name), f"{before}{in_c(name)}"
        if isinstance(each, Structure):
            yield from _members(part, each, f"{path}.")
        elif isinstance(each, Row):
            for place, one in enumerate(part):
                yield Member("Constants", f"{path}.at[{place}]", one)
        else:
            yield Member("Constants", path, part)


def _wired(pulses_per_l: float, fits: list[Fit]) -> list[Member]:
    """The kind of a fit is a single byte, as a flag is."""
    return [Member("Wiring", "pulses_per_l", pulses_per_l)] + [
        Member("Wiring", f"thermometers[{place}].{name}", value)
        for place, fit in enumerate(fits) for name, value in fit._asdict().items()
    ]  # fmt: skip


def _listed(member: Member) -> str:
    byte = isinstance(member.value, bool) or member.name.endswith(".kind")
    kind = "FLOAT" if isinstance(member.value, float) else "FLAG" if byte else "WHOLE"
    wired = str(member.base == "Wiring").lower()
    return f"    {{{wired}, {{offsetof({member.base}, {member.name}), KIND_{kind}}}}},"


def _fit(fitted: Thermometer | None) -> Fit:
    if fitted is not None and fitted.ntc is not None:
        return Fit(KINDS.index("THERMISTOR"), fitted.ntc.a, fitted.ntc.b, fitted.ntc.c)
    if fitted is not None and fitted.correction is not None:
        return Fit(KINDS.index("CORRECTED"), fitted.correction.gain, fitted.correction.zero_k, 0.0)
    return Fit(KINDS.index("AS_SENT"), 0.0, 0.0, 0.0)


def _row(fit: Fit) -> str:
    return f"{{{KINDS[fit.kind]}, {', '.join(each.hex() for each in fit[1:])}}}"
