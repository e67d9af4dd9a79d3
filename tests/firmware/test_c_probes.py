"""The probes with which ticks at the limit are hunted, and the count that a reason is held to."""

from __future__ import annotations

import subprocess

import pytest

from benchmarks import c_mutants
from benchmarks.c_changes import changes_of
from benchmarks.c_probes import PROBES, sites_of, with_probes
from coilward.hil.host_core import command_of, compilers

TEXT = """\
#include <stdbool.h>

bool near(double a, double b);

bool near(double a, double b)
{
    for (int i = 0; i < 2; i++) {
        if (((a - b) < 0.5) && !(a >= (b + 3.0))) {
            return true;
        }
        a = a - 1.0;
    }
    return a > b;
}
"""
ASKS = """\
#include <stdio.h>
#include <stdbool.h>
extern int SITE, TURNED, AT;
extern double FOUND[2][100000];
bool near(double a, double b);
int main(void)
{
    for (int k = 0; k < 8; k++) {
        SITE = k / 2;
        TURNED = k % 2;
        FOUND[0][0] = FOUND[1][0] = 0.0 / 0.0;
        bool is = near(3.25, 2.0);
        printf("%d %d %g %g\\n", k, is, FOUND[0][0], FOUND[1][0]);
    }
    return 0;
}
"""


def test_every_comparison_of_numbers_but_a_loops_end():
    found = [TEXT[site.start : site.end] for site in sites_of("near.c", TEXT)]
    assert found == ["(a - b) < 0.5", "a >= (b + 3.0)", "a > b"]


def test_a_probe_tells_both_sides_and_turns_one_comparison(tmp_path):
    if "gcc" not in compilers():
        pytest.skip("gcc is not installed")
    numbered = list(enumerate(sites_of("near.c", TEXT), 1))
    texts = {"near.c": with_probes("near.c", TEXT, numbered), "probes.c": PROBES, "main.c": ASKS}
    for name, text in texts.items():
        (tmp_path / name).write_text(text, "utf-8")
    command = [*command_of("gcc"), "-std=c99", "-w", *texts, "-lm", "-o", "all"]
    subprocess.run(command, cwd=tmp_path, check=True)
    said = subprocess.run([tmp_path / "all"], capture_output=True, text=True, check=True).stdout
    told = dict(line.split(" ", 1) for line in said.replace("-nan", "nan").splitlines())
    assert told["0"] == told["1"] == "1 nan nan"
    assert told["2"] == "1 0.25 0.5"
    assert told["3"] == "1 1.25 0.5"
    assert told["4"] == "1 2.25 5"
    assert told["5"] == "0 2.25 5"
    assert told["6"] == told["7"] == "1 nan nan"


def test_a_reason_for_another_number_of_changes_is_told(tmp_path):
    rules = tmp_path / "explained.toml"
    rules.write_text('[[rule]]\nfile = "near.c"\nkind = "number"\nsurvive = 2\nwhy = "Near."\n')
    numbers = [each for each in changes_of("near.c", TEXT) if each.kind == "number"]
    explained = c_mutants.Explained(rules)
    assert [explained.why(each) for each in numbers[:2]] == ["Near.", "Near."]
    assert explained.miscounted() == []
    explained.why(numbers[2])
    assert explained.miscounted() == ["3 survive, not 2: Near."]
