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

TICKS = 100_000
WATCHED = {
    "gcc": ("-fsanitize=undefined,float-cast-overflow", "-fno-sanitize-recover=all"),
    "zig": ("-fsanitize=undefined,float-cast-overflow", "-fsanitize-trap=all"),
}
PLANTED = {
    "an overflow": ("estimating.c", "others = others + 1;", "others = others + INT64_MAX;"),
    "a place outside": ("phases.c", "row < (int64_t)FIRST[phase + 1]", "row < FIRST[phase + 2]"),
    "a float too large": ("valve.c", "stroke = control->valve;",
                          "stroke = (double)(int64_t)(control->valve * 1e300);"),
    "a shift too far": ("latching.c", "(mask >> (uint64_t)index)", "(mask >> (index + 60))"),
}  # fmt: skip


@cache
def constants():
    return files_of("everything", date.min, everything_fitted())


def run(folder: Path, compiler: str, sources, ticks: int):
    library = folder / "watched.so"
    rules = ("-std=c99", "-O1", "-g", "-ffp-contract=off", *WATCHED[compiler])
    build(sources, constants(), library, compiler, rules)
    return subprocess.run(
        [sys.executable, "-m", "tests.firmware.sanitised", str(library), str(ticks)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip


@pytest.fixture(params=["gcc", "zig"])
def compiler(request):
    if request.param not in compilers():
        pytest.skip(f"{request.param} is not installed")
    return request.param


def test_wild_ticks_are_defined(compiler, tmp_path):
    done = run(tmp_path, compiler, SOURCES, TICKS)
    assert (done.returncode, done.stdout, done.stderr) == (0, f"{TICKS} ticks\n", "")


@pytest.mark.parametrize("mistake", PLANTED)
def test_what_is_planted_is_found(mistake, compiler, tmp_path):
    name, line, instead = PLANTED[mistake]
    [place] = [path for path in SOURCES if path.name == name]
    text = place.read_text("utf-8")
    assert line in text
    planted = tmp_path / name
    planted.write_text(text.replace(line, instead), "utf-8")
    done = run(tmp_path, compiler, [planted, *(each for each in SOURCES if each != place)], 10_000)
    assert done.returncode != 0
