"""The changes that mutation testing makes to the C, and the file that holds them all at once."""

from __future__ import annotations

import re
import subprocess

import pytest

from benchmarks.c_changes import changes_of
from benchmarks.c_switched import switched
from coilward.hil.host_core import command_of, compilers

TEXT = """\
#include <stdint.h>
#include <stdbool.h>

#define LIMIT_C 2.0
#define ROWS UINT64_C(0x5)

static const uint8_t TABLE[2] = {1U, 4U};

/* Words with a < b in them. */
double twice(double a, bool b, const double *c);

double twice(double a, bool b, const double *c)
{
    double sum = 0.0;
    if ((a < LIMIT_C) && !b) {
        sum = *c + a;
    }
    return sum;
}
"""
MADE = {
    "number": {"#define LIMIT_C 2.02", "#define LIMIT_C 1.98", "double sum = 1.0;"},
    "bit": {"#define ROWS UINT64_C(4)", "#define ROWS UINT64_C(1)",
            "static const uint8_t TABLE[2] = {0U, 4U};",
            "static const uint8_t TABLE[2] = {1U, 0U};"},
    "new bit": {"#define ROWS UINT64_C(7)", "static const uint8_t TABLE[2] = {3U, 4U};",
                "static const uint8_t TABLE[2] = {1U, 5U};"},
    "comparison": {"if ((a <= LIMIT_C) && !b) {", "if ((a >= LIMIT_C) && !b) {"},
    "sign": {"if ((a < LIMIT_C) || !b) {", "sum = *c - a;"},
    "dropped sign": {"if ((a < LIMIT_C) && b) {"},
    "condition": {"if (true) {", "if (false) {"},
    "left out": {";"},
    "result": {"return (sum) + 1.0;"},
}  # fmt: skip


def test_every_change_once():
    found: dict[str, set[str]] = {}
    changes = changes_of("twice.c", TEXT)
    for change in changes:
        found.setdefault(change.kind, set()).add(change.now)
    assert found == MADE
    assert len({change.key for change in changes}) == len(changes)


def told_of(tmp_path, numbered, text=TEXT):
    """What the function makes of two numbers, with each change; compiled at once."""
    if "gcc" not in compilers():
        pytest.skip("gcc is not installed")
    texts = switched({"twice.c": text}, numbered, set())
    asks = "".join(
        f'    choose({number}); printf("%d %.17g %.17g\\n", {number}, twice(2.0, false, &c), '
        f"twice(1.99, false, &c));\n"
        for number in (0, *(number for number, _ in numbered))
    )
    texts["main.c"] = (
        "#include <stdio.h>\n#include <stdbool.h>\nvoid choose(int number);\n"
        "double twice(double a, bool b, const double *c);\n"
        f"int main(void)\n{{\n    const double c = 8.0;\n{asks}    return 0;\n}}\n"
    )
    for name, text in texts.items():
        (tmp_path / name).write_text(text, "utf-8")
    command = [*command_of("gcc"), "-std=c99", "-w", *sorted(texts), "-o", "all"]
    subprocess.run(command, cwd=tmp_path, check=True)
    said = subprocess.run([tmp_path / "all"], capture_output=True, text=True, check=True).stdout
    return {int(line.split()[0]): line.split(" ", 1)[1] for line in said.splitlines()}


def test_all_changes_compile_at_once(tmp_path):
    numbered = list(enumerate(changes_of("twice.c", TEXT), 1))
    told = told_of(tmp_path, numbered)
    assert told[0] == "0 9.9900000000000002"
    turned = {change.now: told[number] for number, change in numbered}
    assert turned["if ((a <= LIMIT_C) && !b) {"] == "10 9.9900000000000002"
    assert turned["sum = *c - a;"] == "0 6.0099999999999998"
    assert turned["#define LIMIT_C 2.02"] == "10 9.9900000000000002"
    assert turned["#define LIMIT_C 1.98"] == "0 0"
    assert turned["return (sum) + 1.0;"] == "1 10.99"
    alike = [change.now for number, change in numbered if told[number] == told[0]]
    assert all(re.search(r"ROWS|TABLE|!b|\bb\)", now) for now in alike), alike


LISTED = """\
#include <stdint.h>
#include <stdbool.h>

static const int64_t TABLE[2] = {3, 5};

#define ROWS UINT64_C(0x5)

double twice(double a, bool b, const double *c);

double twice(double a, bool b, const double *c)
{
    return ((double)TABLE[0] * 100.0) + ((double)TABLE[1] * 10.0) + (double)ROWS;
}
"""


def test_some_changes_do_what_they_do_among_all(tmp_path):
    numbered = list(enumerate(changes_of("twice.c", LISTED), 1))
    some = [pair for pair in numbered if pair[0] % 3 != 2]
    for name in ("all", "some"):
        (tmp_path / name).mkdir()
    told = told_of(tmp_path / "all", numbered, LISTED)
    assert told_of(tmp_path / "some", some, LISTED) == {
        number: told[number] for number in (0, *(number for number, _ in some))
    }
    assert len({told[number] for number, _ in numbered[:7]}) == 7
