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


def test_all_changes_compile_at_once(tmp_path):
    if "gcc" not in compilers():
        pytest.skip("gcc is not installed")
    numbered = list(enumerate(changes_of("twice.c", TEXT), 1))
    texts = switched({"twice.c": TEXT}, numbered, set())
    asks = "".join(
        f'    choose({number}); printf("%d %.17g %.17g\\n", {number}, twice(2.0, false, &c), '
        f"twice(1.99, false, &c));\n"
        for number in range(len(numbered) + 1)
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
    told = {int(line.split()[0]): line.split(" ", 1)[1] for line in said.splitlines()}
    assert told[0] == "0 9.9900000000000002"
    turned = {change.now: told[number] for number, change in numbered}
    assert turned["if ((a <= LIMIT_C) && !b) {"] == "10 9.9900000000000002"
    assert turned["sum = *c - a;"] == "0 6.0099999999999998"
    assert turned["#define LIMIT_C 2.02"] == "10 9.9900000000000002"
    assert turned["#define LIMIT_C 1.98"] == "0 0"
    assert turned["return (sum) + 1.0;"] == "1 10.99"
    alike = [change.now for number, change in numbered if told[number] == told[0]]
    assert all(re.search(r"ROWS|TABLE|!b|\bb\)", now) for now in alike), alike
