"""The C core with a probe at every comparison of two numbers: how far apart they were, in a tick.

One comparison is looked at, by its number. Its two sides in each tick of a block are told, those of
the pair that was nearest where it is asked several times; and it can be turned round, which tells
whether a tick depends on it.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.c_bench import core_texts, library_of
from benchmarks.c_changes import FUNCTION, Token, tokens_of
from benchmarks.c_inputs import Inputs
from coilward.hil.host_core import HostCore
from tests.firmware.wild import Ticks

MOST = 100_000
"""Ticks of a block."""
ORDERED = {"<", "<=", ">", ">="}
NO_PROBES = {"tables.c", "flat.c", "block.c", "state.c", "latching.c", "phases.c", "debounce.c"}
"""Compare no measured numbers, or only to see whether a state can be one."""
ENDS = {"&&", "||", "?", ":", ",", ";", "=", "return", "{"}
DECLARED = "#include <stdbool.h>\nbool probed(int site, double one, double other, bool is);\n"
PROBES = f"""\
#include <math.h>
#include <stdbool.h>
int SITE, TURNED, AT;
double FOUND[2][{MOST}];
bool probed(int site, double one, double other, bool is);
bool probed(int site, double one, double other, bool is)
{{
    if (site != SITE) {{
        return is;
    }}
    if (!(fabs(one - other) >= fabs(FOUND[0][AT] - FOUND[1][AT]))) {{
        FOUND[0][AT] = one;
        FOUND[1][AT] = other;
    }}
    return is != (TURNED != 0);
}}
"""


@dataclass(frozen=True)
class Site:
    """A comparison, from ``start`` to ``end`` of a file."""

    file: str
    start: int
    middle: Token
    end: int


def side(tokens: list[Token], at: int, step: int) -> int:
    """The place of the last token of one side of the comparison at a place."""
    opening, closing = ("([", ")]") if step > 0 else (")]", "([")
    depth = 0
    while True:
        text = tokens[at + step].text
        depth += (text in opening) - (text in closing)
        if depth < 0 or (depth == 0 and text in ENDS):
            return at
        at += step


def sites_of(file: str, text: str) -> Iterator[Site]:
    """Every comparison of what is more in the functions of a file; a loop's end is none."""
    for found in FUNCTION.finditer(text):
        tokens = tokens_of(text, found.start(4), found.end(4))
        for at, token in enumerate(tokens):
            line = text[text.rfind("\n", 0, token.start) : token.start]
            if token.text in ORDERED and not line.lstrip().startswith("for"):
                start, end = tokens[side(tokens, at, -1)].start, tokens[side(tokens, at, 1)].end
                yield Site(file, start, token, end)


def with_probes(file: str, text: str, numbered: list[tuple[int, Site]]) -> str:
    """A file in which each of its comparisons tells; one within another doesn't."""
    parts, at = [], 0
    for number, site in sorted(numbered, key=lambda pair: pair[1].start):
        if site.file == file and site.start >= at:
            one, other = text[site.start : site.middle.start], text[site.middle.end : site.end]
            whole = text[site.start : site.end]
            parts += [text[at : site.start], f"probed({number}, {one}, {other}, {whole})"]
            at = site.end
    return DECLARED + "".join([*parts, text[at:]])


def stem(file: str) -> str:
    """A file's name without its ending: a header's numbers are held against in its own file."""
    return file.rpartition(".")[0]


class Probes:
    """The core with probes, compiled."""

    def __init__(self, folder: Path, given: Inputs, how: str) -> None:
        texts = core_texts()
        probed = [name for name in texts if name.endswith(".c") and name not in NO_PROBES]
        sites = [site for name in probed for site in sites_of(name, texts[name])]
        self.sites = dict(enumerate(sites, 1))
        numbered = list(self.sites.items())
        made = {name: with_probes(name, texts[name], numbered) for name in probed}
        made["block.c"] = "extern int AT;\n" + texts["block.c"].replace(
            "        coil_decide(", "        AT = (int)at;\n        coil_decide("
        )
        library = library_of(folder, {**texts, **made, "probes.c": PROBES}, given, how)
        self.code = ctypes.CDLL(str(library))
        self.cores = [HostCore.of(library, f"LOOP_CONSTANTS_{n}")
                      for n in range(len(given.constants))]  # fmt: skip
        kind = ctypes.c_double * (2 * MOST)
        self.found: Any = np.ctypeslib.as_array(kind.in_dll(self.code, "FOUND")).reshape(2, MOST)

    def asked(self, number: int, constants: int, ticks: Ticks, turned: bool = False) -> Any:
        """What is decided, and both sides of a comparison in each tick; NaN where it wasn't."""
        count = ticks.came.shape[1]
        self.found[:, :count] = np.nan
        for name, value in (("SITE", number), ("TURNED", int(turned))):
            ctypes.c_int.in_dll(self.code, name).value = value
        decided = self.cores[constants].block(*ticks, each=True)
        return decided, self.found[:, :count].copy()

    def beside(self, stems: set[str]) -> list[int]:
        """Comparisons in these files; everywhere, where a header has no file of its own."""
        there = {stem(site.file) for site in self.sites.values()}
        return [n for n, site in self.sites.items() if stem(site.file) in stems or stems - there]
