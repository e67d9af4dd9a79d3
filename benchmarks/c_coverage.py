"""What of the C core the inputs of the agreement reach: lines, branches, conditions.

    python -m benchmarks.c_coverage

Compiled by gcc with its counters, run on the inputs of `benchmarks.c_inputs`, read by gcov. A
branch is one way out of one condition, so that every operand of && and || counts by itself.
From gcc 14 on each operand must also have turned its whole decision by itself (masking MC/DC);
an older gcc is told so and leaves that out. What is never reached must stand in
tests/mutation/unreached_c.toml with the reason. Ends with 1 when anything else isn't.
"""

from __future__ import annotations

import argparse
import ctypes
import json
import subprocess
import sys
import tempfile
import tomllib
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from benchmarks.c_bench import CORE, Judge, core_texts, library_of
from benchmarks.c_inputs import inputs
from benchmarks.copying import ROOT

UNREACHED = ROOT / "tests" / "mutation" / "unreached_c.toml"
COUNTED = ("-O0", "--coverage")
CONDITIONS = "-fcondition-coverage"


@dataclass
class Reached:
    """Of one file: how often each line and way was taken; which operands decided."""

    lines: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    ways: dict[tuple[int, str, int], int] = field(default_factory=lambda: defaultdict(int))
    conditions: dict[tuple[int, int], tuple[int, int]] = field(default_factory=dict)
    """Operands of each condition of a line: those that decided it, and all."""
    undecided: dict[int, list[str]] = field(default_factory=dict)

    def add(self, told: dict[str, Any]) -> None:
        """One compilation of the file, as gcov tells of it."""
        for line in told["lines"]:
            number = line["line_number"]
            self.lines[number] += line["count"]
            for place, way in enumerate(line["branches"]):
                self.ways[number, line.get("function_name", ""), place] += way["count"]
            for place, each in enumerate(line.get("conditions", ())):
                before = self.conditions.get((number, place), (0, 0))
                self.conditions[number, place] = max(before, (each["covered"], each["count"]))
                if each["covered"] < each["count"]:
                    self.undecided.setdefault(number, []).append(
                        f"true {each['not_covered_true']}, false {each['not_covered_false']}"
                    )

    def missed(self) -> dict[int, str]:
        """Lines that something of is never reached, with what."""
        found = dict.fromkeys(self.undecided, "conditions")
        found |= {number: "branch" for (number, *_), count in self.ways.items() if count == 0}
        return found | {number: "line" for number, count in self.lines.items() if count == 0}


def has_conditions() -> bool:
    """Whether this gcc counts them."""
    command = ["gcc", CONDITIONS, "--coverage", "-E", "-x", "c", "-"]
    done = subprocess.run(command, input=b"", capture_output=True, check=False)
    return done.returncode == 0


def measured(conditions: bool) -> dict[str, Reached]:
    """Runs everything and reads the counters."""
    how = (*COUNTED, CONDITIONS) if conditions else COUNTED
    folder = Path(tempfile.mkdtemp(prefix="c-coverage-"))
    library = library_of(folder, core_texts(), inputs(), *how, "-Wl,-u,__gcov_dump")
    if not Judge(library, inputs()).is_sound():
        raise RuntimeError("the core differs from the controller")
    ctypes.CDLL(str(library)).__gcov_dump()
    counters = [str(path) for path in folder.glob("*.gcda")]
    asked = ["--conditions"] if conditions else []
    done = subprocess.run(
        ["gcov", "--json-format", "-b", "-t", *asked, *counters],
        cwd=folder, capture_output=True, text=True, check=True,
    )  # fmt: skip
    found: dict[str, Reached] = defaultdict(Reached)
    for line in done.stdout.splitlines():
        for told in json.loads(line)["files"] if line.startswith("{") else ():
            name = Path(told["file"]).name
            if (CORE / name).exists():
                found[name].add(told)
    return found


def main() -> int:
    argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    ).parse_args()
    conditions = has_conditions()
    if not conditions:
        print("this gcc does not count conditions (MC/DC); gcc 14 does: left out")
    rows = tomllib.loads(UNREACHED.read_text("utf-8"))["unreached"]
    why = {(row["file"], row["line"].strip()): row["why"] for row in rows}
    left, used = 0, set()
    sums = [0] * 6
    for name, reached in sorted(measured(conditions).items()):
        texts = (CORE / name).read_text("utf-8").splitlines()
        for number, what in sorted(reached.missed().items()):
            text = texts[number - 1].strip()
            used.add((name, text))
            reason = why.get((name, text))
            left += reason is None
            more = "; ".join(reached.undecided.get(number, ()))
            print(f"{name}:{number} {what}: {text} {more} -- {reason or 'NO REASON'}")
        each = [
            sum(count > 0 for count in reached.lines.values()), len(reached.lines),
            sum(count > 0 for count in reached.ways.values()), len(reached.ways),
            sum(covered for covered, _ in reached.conditions.values()),
            sum(count for _, count in reached.conditions.values()),
        ]  # fmt: skip
        sums = [a + b for a, b in zip(sums, each, strict=True)]
        print(row_of(name, each))
    print(row_of("all", sums))
    for name, text in sorted(set(why) - used):
        left += 1
        print(f"reached after all: {name}: {text}")
    return 1 if left else 0


def row_of(name: str, each: list[int]) -> str:
    """Reached of all: lines, branches, conditions."""
    parts = [f"{each[at]:5}/{each[at + 1]:<5}" for at in (0, 2, 4)]
    return f"{name:16} lines {parts[0]} branches {parts[1]} conditions {parts[2]}"


if __name__ == "__main__":
    sys.exit(main())
