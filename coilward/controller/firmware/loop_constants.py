"""The numbers of one loop as C: a constant structure, bit for bit what the rehearsal ran on."""

from __future__ import annotations

import re
from datetime import date

from coilward.controller.constants import Constants, constants_for
from coilward.controller.firmware.making import program
from coilward.controller.firmware.translating.files import literal
from coilward.controller.firmware.translating.kinds import FLOAT, Kind, Row, Scalar, Structure
from coilward.controller.firmware.translating.naming import in_c
from coilward.controller.firmware.translating.wrapping import STEP, wrapped
from coilward.loop.derived import derive
from coilward.loop.model import Loop

HEADER = """\
/* Made from one loop; don't edit. */
#ifndef LOOP_CONSTANTS_H
#define LOOP_CONSTANTS_H

#include "constants.h"

/* Which loop, and from which day's air pressure and fuel its limits were derived. */
extern const char LOOP_NAME[];
extern const char LOOP_DAY[];

/* All limits; its checksum is the CRC-32 that a computer knows the same constants by. */
extern const Constants LOOP_CONSTANTS;

#endif
"""


def constants_files(name: str, loop: Loop, day: date) -> dict[str, str]:
    """``loop_constants.h`` and ``loop_constants.c`` of a loop with a name, derived on a day."""
    return files_of(name, day, constants_for(loop, derive(loop, day)))


def files_of(name: str, day: date, constants: Constants) -> dict[str, str]:
    """The same of constants that are known already."""
    kind = program().sources.structure(Constants)
    safe = re.sub(r"[^A-Za-z0-9 ._-]", "?", name)
    lines = [
        "/* Made from one loop; don't edit. */", '#include "loop_constants.h"',
        '#include "numbers.h"', "", f'const char LOOP_NAME[] = "{safe}";',
        f'const char LOOP_DAY[] = "{day.isoformat()}";', "",
        "const Constants LOOP_CONSTANTS = {", *fields(constants, kind, 1), "};", "",
    ]  # fmt: skip
    return {"loop_constants.h": HEADER, "loop_constants.c": "\n".join(lines)}


def fields(value: object, kind: Structure, indent: int) -> list[str]:
    """A structure's fields, a line each; of a float its exact value beside the readable one."""
    lines = []
    for name, each in kind.fields:
        part, lead = getattr(value, name), f".{in_c(name)} = "
        if isinstance(each, Structure):
            inner = fields(part, each, indent + 1)
            lines += [f"{STEP * indent}{lead}{{", *inner, f"{STEP * indent}}},"]
        elif isinstance(each, Row):
            numbers = ", ".join(exact(one, each.each) for one in part)
            lines += wrapped(f"{lead}{{.at = {{{numbers}}}}},", indent)
        else:
            words = f" /* {part!r} */" if each is FLOAT and part - part == 0.0 else ""
            lines.append(f"{STEP * indent}{lead}{exact(part, each)},{words}")
    return lines


def exact(value: object, kind: Kind | Scalar) -> str:
    """A number without any rounding: floats in hexadecimal."""
    if kind is FLOAT and isinstance(value, float) and value - value == 0.0:
        return value.hex()
    return literal(value, kind)
