"""No undefined behaviour in C, whatever comes: found by what a compiler builds in to find it.

Left out of it is a division by zero of floats, which has its value by IEEE 754 and is wanted.
"""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from coilward.controller.firmware.loop_constants import files_of
from coilward.hil.host_core import SOURCES, build, compilers
from tests.controller.rig import everything_fitted
from tests.firmware import test_doubles as doubles

GIVEN = {"ticks": SOURCES, "pairs": (doubles.DRIVER, *doubles.SOURCES)}
"""What runs on wild ticks, and what on pairs of doubles."""
COUNT = 100_000
"""Ticks, and pairs of each kind."""
WATCHED = {
    "gcc": ("-fsanitize=undefined,float-cast-overflow", "-fno-sanitize-recover=all"),
    "zig": ("-fsanitize=undefined,float-cast-overflow", "-fsanitize-trap=all"),
}
PLANTED = {
    "an overflow": ("ticks", "estimating.c", "others = others + 1;",
                    "others = others + INT64_MAX;"),
    "a place outside": ("ticks", "phases.c", "row < (int64_t)FIRST[phase + 1]",
                        "row < FIRST[phase + 2]"),
    "a float too large": ("ticks", "valve.c", "stroke = control->valve;",
                          "stroke = (double)(int64_t)(control->valve * 1e300);"),
    "a shift too far": ("ticks", "latching.c", "rest >> 2;", "rest >> (index + 64);"),
    "a shift by all of a word": ("pairs", "adding.c", "places < 64U", "places <= 64U"),
    "a shift by less than nothing": ("pairs", "scaling.c", "places > 53U", "places > 64U"),
    "an exponent that overflows": ("pairs", "scaling.c", "1 - (int32_t)places",
                                   "INT32_MIN + 1 - (int32_t)places"),
    "zeros before nothing": ("pairs", "from_whole.c", "whole == 0U", "whole == 1U"),
}  # fmt: skip


@cache
def constants():
    return files_of("everything", date.min, everything_fitted())


def run(folder: Path, compiler: str, what: str, sources, count: int):
    library = folder / "watched.so"
    rules = ("-std=c99", "-O1", "-g", "-ffp-contract=off", *WATCHED[compiler])
    made = constants() if what == "ticks" else {}
    build(sources, made, library, compiler, (*rules, f"-I{doubles.SOURCES[0].parent}"))
    return subprocess.run(
        [sys.executable, "-m", "tests.firmware.sanitised", what, str(library), str(count)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip


@pytest.fixture(params=["gcc", "zig"])
def compiler(request):
    if request.param not in compilers():
        pytest.skip(f"{request.param} is not installed")
    return request.param


@pytest.mark.parametrize("what", GIVEN)
def test_whatever_comes_is_defined(what, compiler, tmp_path):
    done = run(tmp_path, compiler, what, GIVEN[what], COUNT)
    assert (done.returncode, done.stdout, done.stderr) == (0, f"{COUNT} {what}\n", "")


@pytest.mark.parametrize("mistake", PLANTED)
def test_what_is_planted_is_found(mistake, compiler, tmp_path):
    what, name, line, instead = PLANTED[mistake]
    [place] = [path for path in GIVEN[what] if path.name == name]
    text = place.read_text("utf-8")
    assert line in text
    planted = tmp_path / name
    planted.write_text(text.replace(line, instead), "utf-8")
    sources = [planted, *(each for each in GIVEN[what] if each != place)]
    done = run(tmp_path, compiler, what, sources, COUNT // 10)
    assert done.returncode < 0 or "runtime error" in done.stderr
