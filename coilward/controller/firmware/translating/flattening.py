"""Structures as plain rows of numbers: what a wire, a memory and a checksum want.

A state is its floats and its whole numbers (truths among them), each in the order of the fields,
as `coilward.hil.tick` sends, keeps and digests it. Requests are a mask: bit n is the n-th field.
"""

from __future__ import annotations

from collections.abc import Iterator

from coilward.controller.firmware.translating.kinds import (
    FLOAT,
    TRUTH,
    Kind,
    Row,
    Structure,
    Whole,
)
from coilward.controller.firmware.translating.naming import in_c
from coilward.controller.firmware.translating.wrapping import STEP

Leaf = tuple[str, Kind]
HEADER = """\
/* Made by `python -m coilward.controller.firmware`; don't edit. */
#ifndef FLAT_H
#define FLAT_H

/*
 * Structures as plain rows of numbers: what a wire, a memory and a checksum want.
 *
 * A state is its floats and its whole numbers, truths among them as 0 or 1, each in the order of
 * the fields. Requests are a mask: bit n is the n-th field.
 */
#include "state.h"
#include "types.h"

{sizes}

void readings_of(const double floats[READINGS_FLOATS], Readings *readings);

Requests requests_of(uint64_t mask);

void flat_state(const State *state, double floats[STATE_FLOATS], int64_t wholes[STATE_WHOLES]);

/* Any whole number but 0 makes a truth true. */
void state_of(const double floats[STATE_FLOATS], const int64_t wholes[STATE_WHOLES], State *state);

void flat_commands(const Commands *commands, double floats[COMMANDS_FLOATS],
    int64_t wholes[COMMANDS_WHOLES]);

#endif
"""


def leaves(kind: Kind, path: str) -> Iterator[Leaf]:
    """Every number of a structure, with the way to it."""
    if isinstance(kind, Structure):
        for name, each in kind.fields:
            yield from leaves(each, f"{path}.{in_c(name)}" if path else in_c(name))
    elif isinstance(kind, Row):
        for at in range(kind.size):
            yield f"{path}.at[{at}]", kind.each
    else:
        yield path, kind


def split(kind: Structure) -> tuple[list[Leaf], list[Leaf]]:
    """The floats of a structure, and everything else."""
    found = list(leaves(kind, ""))
    return [each for each in found if each[1] is FLOAT], [each for each in found
                                                         if each[1] is not FLOAT]


def flat_files(
    readings: Structure, requests: Structure, state: Structure, commands: Structure
) -> dict[str, str]:
    """``flat.h`` and ``flat.c``."""
    sizes = []
    for name, kind in (("READINGS", readings), ("STATE", state), ("COMMANDS", commands)):
        floats, wholes = split(kind)
        sizes.append(f"#define {name}_FLOATS {len(floats)}")
        if wholes:
            sizes.append(f"#define {name}_WHOLES {len(wholes)}")
    body = [
        "/* Made by `python -m coilward.controller.firmware`; don't edit. */",
        '#include "flat.h"', "",
        "void readings_of(const double floats[READINGS_FLOATS], Readings *readings)", "{",
        *[f"{STEP}readings->{path} = floats[{at}];" for at, (path, _) in
          enumerate(split(readings)[0])],
        "}", "", "Requests requests_of(uint64_t mask)", "{", f"{STEP}return (Requests){{",
        *[f"{STEP}{STEP}.{path} = ((mask >> {at}) & 1U) != 0U," for at, (path, _) in
          enumerate(split(requests)[1])],
        f"{STEP}}};", "}", "",
        "void flat_state(const State *state, double floats[STATE_FLOATS], "
        "int64_t wholes[STATE_WHOLES])", "{", *flattening("state", state), "}", "",
        "void state_of(const double floats[STATE_FLOATS], const int64_t wholes[STATE_WHOLES], "
        "State *state)", "{", *unflattening("state", state), "}", "",
        "void flat_commands(const Commands *commands, double floats[COMMANDS_FLOATS],",
        f"{STEP}int64_t wholes[COMMANDS_WHOLES])", "{", *flattening("commands", commands), "}", "",
    ]  # fmt: skip
    return {"flat.h": HEADER.format(sizes="\n".join(sizes)), "flat.c": "\n".join(body)}


def flattening(name: str, kind: Structure) -> list[str]:
    """Assignments from the fields."""
    floats, wholes = split(kind)
    lines = [f"{STEP}floats[{at}] = {name}->{path};" for at, (path, _) in enumerate(floats)]
    for at, (path, each) in enumerate(wholes):
        value = f"{name}->{path}"
        if each is TRUTH:
            value = f"{value} ? 1 : 0"
        elif isinstance(each, Whole) and each.is_mask:
            value = f"(int64_t){value}"
        lines.append(f"{STEP}wholes[{at}] = {value};")
    return lines


def unflattening(name: str, kind: Structure) -> list[str]:
    """Assignments to the fields."""
    floats, wholes = split(kind)
    lines = [f"{STEP}{name}->{path} = floats[{at}];" for at, (path, _) in enumerate(floats)]
    for at, (path, each) in enumerate(wholes):
        value = f"wholes[{at}]"
        if each is TRUTH:
            value = f"{value} != 0"
        elif isinstance(each, Whole) and each.is_mask:
            value = f"(uint64_t){value}"
        lines.append(f"{STEP}{name}->{path} = {value};")
    return lines
