"""The project's own rules about its code, run like any other test."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from coilward.controller import estimating, plausibility, sensing, state, types

ROOT = Path(__file__).parents[2]
LARGE = {"Readings", "Seen", "Estimate", "Watch", "Doubt", "Ages", "Control", "Mode"}
BIN = Path(sys.executable).parent

CHECKS = {
    "ruff": ["ruff", "check", "."],
    "mypy": ["mypy"],
    "import-linter": ["lint-imports", "--no-cache"],
    "interrogate": ["interrogate", "-q", "coilward"],
}


@pytest.mark.parametrize("name", CHECKS)
def test_checker_is_content(name):
    command = [str(BIN / CHECKS[name][0]), *CHECKS[name][1:]]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def sources() -> list[Path]:
    """Every file of the project that people read, but for caches and virtual environments."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True,
        check=True,
    )
    return [ROOT / line for line in listed.stdout.splitlines() if (ROOT / line).is_file()]


def test_time_is_an_argument():
    """Nothing that decides or pretends reads a clock or draws from a global generator."""
    clocks = r"time\.time|datetime\.now|date\.today"
    forbidden = re.compile(rf"\b({clocks}|random\.random|np\.random\.rand)")
    for folder in ("loop", "controller", "simulator"):
        for file in (ROOT / "coilward" / folder).rglob("*.py"):
            assert not forbidden.search(file.read_text("utf-8")), file


def test_no_machine_path_is_written_down():
    words = re.compile(r"(/wor[k]/|/ho[m]e/\w|/op[t]/\w)")
    for file in sources():
        if file.suffix in (".py", ".md", ".toml", ".sh") or file.name == "run":
            assert not words.search(file.read_text("utf-8")), file


def test_controller_uses_only_plain_arithmetic():
    """What must give the same bits everywhere: + - * / and comparisons, no powers, no libm."""
    for file in (ROOT / "coilward" / "controller").glob("*.py"):
        text = file.read_text("utf-8")
        assert "**" not in re.sub(r"\*\*\w+\)", "", text), file
        if file.name != "constants.py":
            assert "import math" not in text, file


def fields_of(name):
    for module in (types, estimating, plausibility, sensing, state):
        if hasattr(module, name):
            return getattr(module, name)._fields
    raise AssertionError(name)


def test_large_tuples_are_built_and_taken_apart_in_the_order_of_their_fields():
    """Built by position for speed, so each argument must carry the name of its field."""
    built, taken = set(), set()
    for file in (ROOT / "coilward").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in LARGE and node.args:
                names = tuple(getattr(argument, "id", "") for argument in node.args)
                assert names == fields_of(node.func.id), file
                built.add(node.func.id)
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Tuple):
                name = getattr(node.value, "id", "").capitalize()
                if name in LARGE:
                    names = [target.id for target in node.targets[0].elts]
                    pairs = zip(names, fields_of(name), strict=True)
                    assert all(a in ("_", b) for a, b in pairs), file
                    taken.add(name)
    assert built == LARGE
    assert taken == {"Ages", "Watch", "Doubt", "Control"}


def test_every_line_and_branch_of_the_logic_is_covered():
    command = [
        sys.executable, "-m", "pytest", "tests/controller", "-q", "-n", "1",
        "-p", "no:cacheprovider", "--cov=coilward.controller", "--cov-branch",
        "--cov-report=term-missing:skip-covered", "--cov-fail-under=100",
    ]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-1000:]
