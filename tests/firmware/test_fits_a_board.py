"""What the core may ask of a board, measured on what a compiler makes of it for two of them.

A Cortex-M4 and a Cortex-M0+ without hardware for doubles. The stack in use and the instructions
a tick are measured where the machine code runs (test_costs.py).
"""

from __future__ import annotations

import re
import subprocess
import sys
from functools import cache

import pytest
from elftools.elf.elffile import ELFFile

from coilward.controller.firmware import ARITHMETIC
from coilward.controller.firmware.loop_constants import files_of
from coilward.controller.firmware.making import CORE, program
from coilward.hil.emulated.building import BARE
from coilward.hil.host_core import RULES
from tests.controller.rig import TODAY, constants_of

FAST = {"cortex_m4": "-O2", "cortex_m0plus": "-Os"}
"""The larger one as its instructions are counted, the smallest one small."""
CODE_BYTES = 32 * 1024
FRAME_BYTES = 1000
"""A state is about 850."""
START = """\
#include "coil.h"
#include "loop_constants.h"
Readings readings;
Requests requests;
State state;
Commands commands;
__attribute__((used, retain)) void _start(void)
{
    coil_first(&state, &LOOP_CONSTANTS);
    coil_restart(&state);
    coil_decide(&readings, &requests, &state, &commands, &LOOP_CONSTANTS);
}
"""
LAYOUT = """\
ENTRY(_start)
PHDRS { text PT_LOAD FLAGS(5); ram PT_LOAD FLAGS(6); }
SECTIONS {
  . = 0x08000000;
  .text : { *(.text*) *(.rodata*) } :text
  . = 0x20000000;
  .data : { *(.data*) } :ram
  .bss (NOLOAD) : { *(.bss*) *(COMMON) } :ram
  /DISCARD/ : { *(.ARM.exidx*) *(.ARM.extab*) }
}
"""
SOURCES = sorted(CORE.glob("*.c"))
RUN = [*SOURCES, *sorted(ARITHMETIC.glob("*.c"))]
BOARD_RULES = [
    *(rule for rule in RULES if rule != "-O2"), *(rule for rule in BARE if "-Wl" not in rule),
    f"-Wframe-larger-than={FRAME_BYTES}",
]  # fmt: skip


def zig(*arguments):
    done = subprocess.run(
        [sys.executable, "-m", "ziglang", "cc", *map(str, arguments)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


@cache
def objects(cpu, folder):
    """Every source as an object file: no warning, no frame that is too large."""
    made = {**files_of("greenhouse", TODAY, constants_of()), "start.c": START, "board.ld": LAYOUT}
    for name, text in made.items():
        (folder / name).write_text(text, "utf-8")
    sources = [*RUN, folder / "loop_constants.c", folder / "start.c"]
    found = []
    for source in sources:
        found.append(folder / f"{source.stem}.o")
        zig(*BOARD_RULES, FAST[cpu], f"-mcpu={cpu}", f"-I{CORE}", f"-I{ARITHMETIC}",
            f"-I{folder}", "-c", source, "-o", found[-1])  # fmt: skip
    return found


@pytest.fixture(scope="module", params=FAST)
def built(request, tmp_path_factory):
    return request.param, objects(request.param, tmp_path_factory.mktemp(request.param))


def test_it_keeps_nothing_of_its_own(built):
    """All memory is the caller's: no variable that lasts, in any file of the core."""
    for path in built[1][: len(RUN)]:
        with path.open("rb") as file:
            for section in ELFFile(file).iter_sections():
                if section.name.startswith((".data", ".bss")):
                    assert section["sh_size"] == 0, (path.name, section.name)


def test_the_whole_of_it_fits(built):
    cpu, paths = built
    elf = paths[0].parent / "core.elf"
    zig("-target", "thumb-freestanding-eabi", f"-mcpu={cpu}", FAST[cpu], "-Wl,--gc-sections",
        f"-Wl,-T,{paths[0].parent / 'board.ld'}", *paths, "-o", elf)  # fmt: skip
    with elf.open("rb") as file:
        text = ELFFile(file).get_section_by_name(".text")["sh_size"]
    assert 10_000 < text <= CODE_BYTES, text


def test_no_function_calls_itself_by_any_way():
    functions = program().functions
    calls = {one: {each for each in found.used if each in functions}
             for one, found in functions.items()}  # fmt: skip
    for _ in functions:
        ends = {one for one, called in calls.items() if not called}
        calls = {one: called - ends for one, called in calls.items() if one not in ends}
    assert calls == {}


@pytest.mark.parametrize("path", [*SOURCES, *sorted(CORE.glob("*.h"))], ids=lambda path: path.name)
def test_nothing_but_plain_c99(path):
    """No heap, no library of mathematics, no jump, and no loop but counted ones."""
    text = re.sub(r"/\*.*?\*/|\"[^\"\n]*\"", "", path.read_text("ascii"), flags=re.DOTALL)
    assert set(re.findall(r"#include <(\S+)>", text)) <= {"stdbool.h", "stdint.h"}
    assert not re.search(r"\b(while|do|goto|switch|malloc|free\(|float|long|unsigned|int)\b", text)
    for start, test, step in re.findall(r"for \((.*?); (.*?); (.*?)\)", text):
        assert re.fullmatch(r"int64_t (\w+) = .*", start)
        assert re.fullmatch(r"(\w+) [<>] .*", test)
        assert re.fullmatch(r"(\w+)(\+\+|--)", step)
    assert max(map(len, path.read_text("ascii").splitlines())) <= 106
