"""What a checker of C says of files: cppcheck, with its addon for the rules of MISRA C:2012."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from coilward.controller.firmware import ARITHMETIC, CORE

DEVIATIONS = Path(__file__).parent / "misra_deviations.toml"
STRICT = (
    "-std=c99", "-pedantic", "-ffp-contract=off", "-Wall", "-Wextra", "-Wconversion",
    "-Wsign-conversion", "-Wshadow", "-Wdouble-promotion", "-Wundef", "-Wstrict-prototypes",
    "-Wmissing-prototypes", "-Werror",
)  # fmt: skip
FINDING = re.compile(r"^(.+?):(\d+): (\S+) (.*)$")


class Finding(NamedTuple):
    """One line of the checker."""

    file: str
    line: int
    what: str
    """``misra-c2012-15.5``, or a name of the checker's own."""

    @property
    def rule(self) -> str:
        """The rule's number; empty for a finding of the checker's own."""
        return self.what.removeprefix("misra-c2012-") if "misra" in self.what else ""


def board_files() -> list[Path]:
    """All C that runs on a board; what only a comparing computer runs is no part of it."""
    return sorted((*ARITHMETIC.glob("*.c"), *CORE.glob("*.c")))


def findings(files: Sequence[Path], *more: str) -> list[Finding]:
    """All that the checker finds, its own warnings among them."""
    folders = sorted({path.parent for path in files} | {CORE})
    done = subprocess.run(
        [sys.executable, "-m", "cppcheck", "-q", "--std=c99", "--platform=unix64",
         "--addon=misra", "--enable=warning,style,performance,portability",
         "--suppress=normalCheckLevelMaxBranches", "-DUINT64_C(c)=c##UL", "-DINT64_C(c)=c##L",
         "--template={file}:{line}: {id} {message}", *(f"-I{each}" for each in folders), *more,
         *map(str, files)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    found = []
    for line in (done.stdout + done.stderr).splitlines():
        match = FINDING.match(line)
        if match is None:
            raise RuntimeError(f"the checker says something else: {line}")
        found.append(Finding(Path(match.group(1)).name, int(match.group(2)), match.group(3)))
    return found


def deviations() -> dict[tuple[str, str], str]:
    """The reason for each rule in each file."""
    rows = tomllib.loads(DEVIATIONS.read_text("utf-8"))["deviation"]
    return {(row["rule"], file): row["why"] for row in rows for file in row["files"]}
