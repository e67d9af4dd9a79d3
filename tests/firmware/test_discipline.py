"""The C of a board under a checker's rules and every warning of two compilers.

Rules: MISRA C:2012, as far as the addon of cppcheck (another's work, run as it comes) knows them.
"""

from __future__ import annotations

import subprocess
from datetime import date
from pathlib import Path

import pytest

from coilward.controller.firmware import CORE
from coilward.controller.firmware.loop_constants import constants_files
from coilward.hil.host_core import SOURCES, command_of, compilers
from coilward.loop.document import read_loop
from tests.firmware.discipline import STRICT, board_files, deviations, findings

PLANTED = """\
int planted(int number);
int planted(int number)
{
    int unused;
    if (number > 3) goto out;
    number = 7;
out:
    return number;
}
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder, day = tmp_path_factory.mktemp("constants"), date(2026, 11, 25)
    for name, text in constants_files("greenhouse", read_loop("greenhouse"), day).items():
        (folder / name).write_text(text, "utf-8")
    return findings([*board_files(), folder / "loop_constants.c"])


def test_every_finding_has_a_reason(found):
    known = deviations()
    assert [
        each for each in found
        if (each.rule, each.file) not in known and (each.rule, "*") not in known
    ] == []


def test_every_reason_has_a_finding(found):
    there = {(each.rule, file) for each in found for file in (each.file, "*")}
    assert set(deviations()) - there == set()


def test_the_page_tells_every_reason():
    page = (Path(__file__).parents[2] / "docs" / "firmware_quality.md").read_text("utf-8")
    assert [(rule, why) for (rule, _), why in deviations().items() if why not in page] == []


def test_the_checker_sees_what_is_planted(tmp_path):
    planted = tmp_path / "planted.c"
    planted.write_text(PLANTED)
    seen = {each.what for each in findings([planted])}
    assert {"unusedVariable", "misra-c2012-15.1", "misra-c2012-15.6"} <= seen


@pytest.mark.parametrize("compiler", ["gcc", "zig"])
def test_every_warning_is_an_error(compiler, tmp_path):
    if compiler not in compilers():
        pytest.skip(f"{compiler} is not installed")
    for path in (*board_files(), *SOURCES):
        command = [*command_of(compiler), *STRICT, "-c", f"-I{CORE}", str(path)]
        done = subprocess.run(
            [*command, "-o", str(tmp_path / "out.o")], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("compiler", ["gcc", "zig"])
@pytest.mark.parametrize(
    ("line", "warning"),
    [("int half(double d) { return d; }", "conversion"), ("void old() { }", "prototype")],
)
def test_a_warning_stops_the_compiler(compiler, line, warning, tmp_path):
    if compiler not in compilers():
        pytest.skip(f"{compiler} is not installed")
    source = tmp_path / "planted.c"
    source.write_text(line + "\n")
    command = [*command_of(compiler), *STRICT, "-c", str(source), "-o", str(tmp_path / "out.o")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode != 0
    assert warning in done.stderr
