"""Phases, facts and interlocks by their names, as data in C: for what a board tells a person."""

from __future__ import annotations

import textwrap

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import FACTS, PHASES
from coilward.controller.prelight import CHECKS

MADE = """\
/*
 * Made by `python -m coilward.controller.firmware` from the tables of the controller; don't edit.
 */
"""
HEADER = """\
#ifndef TABLES_H
#define TABLES_H

#include "numbers.h"

#define PHASE_COUNT {phases}
#define FACT_COUNT {facts}
#define ROW_COUNT {rows}
#define CHECK_COUNT {checks}

/* One interlock. */
typedef struct {{
    const char *name;
    const char *cause;
    /* 1 loudest to 4. */
    uint8_t rank;
    /* 0 silent, 1 beep, 2 intermittent, 3 continuous. */
    uint8_t horn;
    /* Stays until a person resets it. */
    bool stays;
    /* What a person is to do. */
    const char *person;
}} RowWords;

/* By their numbers, as in Mode. */
extern const char *const PHASE_NAMES[PHASE_COUNT];
/* By the bits that the phase table reads. */
extern const char *const FACT_NAMES[FACT_COUNT];
/* By the bits of every mask of rows. */
extern const RowWords ROW_WORDS[ROW_COUNT];
/* What the check before a fire asks for, by the bits of what has passed. */
extern const char *const CHECK_WORDS[CHECK_COUNT];

#endif
"""


def quoted(words: str) -> str:
    """A string in C, in pieces that fit a line."""
    pieces = textwrap.wrap(words, 80, drop_whitespace=False)
    escaped = [each.replace("\\", "\\\\").replace('"', '\\"') for each in pieces]
    return "\n        ".join(f'"{each}"' for each in escaped)


def listed(words: tuple[str, ...]) -> str:
    """Strings, a line each."""
    return "".join(f"    {quoted(each)},\n" for each in words)


def table_files() -> dict[str, str]:
    """``tables.h`` and ``tables.c``."""
    rows = "".join(
        f"    {{.name = {quoted(row.name)},\n        .cause = {quoted(row.cause)},\n"
        f"        .rank = {row.rank}, .horn = {row.horn}, "
        f".stays = {'false' if row.latch == 'no' else 'true'},\n"
        f"        .person = {quoted(row.person)}}},\n"
        for row in ROWS
    )
    checks = tuple(words for _, words in CHECKS)
    source = (
        f'{MADE}#include "tables.h"\n\n'
        f"const char *const PHASE_NAMES[PHASE_COUNT] = {{\n{listed(PHASES)}}};\n\n"
        f"const char *const FACT_NAMES[FACT_COUNT] = {{\n{listed(FACTS)}}};\n\n"
        f"const RowWords ROW_WORDS[ROW_COUNT] = {{\n{rows}}};\n\n"
        f"const char *const CHECK_WORDS[CHECK_COUNT] = {{\n{listed(checks)}}};\n"
    )
    header = MADE + HEADER.format(
        phases=len(PHASES), facts=len(FACTS), rows=len(ROWS), checks=len(checks)
    )
    return {"tables.h": header, "tables.c": source}
