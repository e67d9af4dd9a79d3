"""Mutation testing of the interlock, phase and decide modules: one process a mutant.

    python -m benchmarks.mutants [--module phases] [--share 0.1] [--workers 2]

Every small change that cosmic-ray can make to a module is tried, each in its own process and
on a private copy of the project. A mutant that the tests do not notice must stand in
tests/mutation/explained.toml with the reason why it is no mistake. A mutant that did not run
counts as a failure. The tests must pass without any change first. The shortest of them run
first, and before all of them, by themselves, those to which the last mutants fell. Ends with 1
when anything is left unexplained.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from benchmarks.copying import PYTEST, ROOT, copy_project

MODULES = ("interlocks", "phases", "decide")
TESTS = ("tests/docs", "tests/controller")
ORDER, FRONT = "order.txt", "front.txt"
AT_THE_FRONT = 16
SECONDS = 300.0
EXPLAINED = ROOT / "tests" / "mutation" / "explained.toml"


@dataclass(frozen=True)
class Mutant:
    """One change: an operator of the library at its n-th place in a module."""

    module: str
    operator: str
    occurrence: int
    line: int
    definition: str | None
    args: tuple[tuple[str, object], ...]


@dataclass(frozen=True)
class Tried:
    """A mutant with what became of it, and the changed line."""

    mutant: Mutant
    outcome: str
    """killed, survived, or did not run"""
    change: str


def path_of(module: str) -> Path:
    return Path("coilward") / "controller" / f"{module}.py"


def mutants_of(module: str) -> list[Mutant]:
    """Every change that the library can make to a module."""
    from cosmic_ray.commands import init
    from cosmic_ray.work_db import WorkDB, use_db

    found = []
    with (
        tempfile.TemporaryDirectory() as folder,
        use_db(str(Path(folder) / "mutants.sqlite"), WorkDB.Mode.create) as database,
    ):
        init([ROOT / path_of(module)], database, {})
        for item in database.work_items:
            (spec,) = item.mutations
            found.append(
                Mutant(
                    module, spec.operator_name, spec.occurrence, spec.start_pos[0],
                    spec.definition_name, tuple(sorted(spec.operator_args.items())),
                )
            )
    return sorted(found, key=lambda m: (m.module, m.line, m.operator, m.occurrence))


def shortest_first() -> str:
    """The tests, one a line, by the time that they take. Raises RuntimeError where one fails."""
    own_copy()
    command = [*PYTEST, "--junit-xml=times.xml", "-o", "junit_family=xunit1", *TESTS]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"tests fail without any change:\n{done.stdout[-2000:]}")
    cases = [case.attrib for case in ElementTree.parse("times.xml").iter("testcase")]
    timed = sorted((float(case["time"]), case["file"], case["name"]) for case in cases)
    tests = [f"{file}::{name}" for _, file, name in timed]
    put(tests)
    subprocess.run([*PYTEST, f"@{ORDER}"], check=True, stdout=subprocess.DEVNULL)
    return "\n".join(tests)


def own_copy(order: str = "") -> None:
    """A private copy of the project for this worker, with the order of its tests."""
    copy = Path(tempfile.mkdtemp(prefix="mutants-"))
    copy_project(copy)
    os.chdir(copy)
    put(order.split("\n"))
    os.environ["PYTHONPATH"] = str(copy)
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(copy / ".hypothesis")


def attempt(mutant: Mutant) -> Tried:
    """Change one line, run the tests, put it back."""
    from cosmic_ray.mutating import mutate_and_test
    from cosmic_ray.work_item import MutationSpec, TestOutcome, WorkerOutcome

    spec = MutationSpec(
        path_of(mutant.module), mutant.operator, mutant.occurrence, (mutant.line, 0),
        (mutant.line, 1), dict(mutant.args), mutant.definition,
    )
    front, every = (" ".join((*PYTEST, f"@{name}")) for name in (FRONT, ORDER))
    result = mutate_and_test([spec], f"sh -c '{front} && {every}'", SECONDS)
    changed = [
        line for line in (result.diff or "").splitlines()
        if line[:1] in "+-" and line[:3] not in ("+++", "---")
    ]
    if result.worker_outcome != WorkerOutcome.NORMAL:
        return Tried(mutant, "did not run", (result.output or "")[-400:])
    if result.test_outcome == TestOutcome.KILLED:
        ran = any(word in result.output.lower() for word in ("failed", "error", "timeout"))
        to_the_front(result.output)
        return Tried(mutant, "killed" if ran else "did not run", "\n".join(changed))
    outcome = "survived" if result.test_outcome == TestOutcome.SURVIVED else "did not run"
    return Tried(mutant, outcome, "\n".join(changed))


def put(tests: list[str]) -> None:
    """The order of all tests, and the first few of them for a look at each mutant."""
    Path(ORDER).write_text("\n".join(tests), "utf-8")
    Path(FRONT).write_text("\n".join(tests[:AT_THE_FRONT]), "utf-8")


def to_the_front(output: str) -> None:
    """The test that failed runs first from now on: the next mutant is often much like this one."""
    tests = Path(ORDER).read_text("utf-8").split("\n")
    failed = [test for test in tests if f"FAILED {test} " in output or f"FAILED {test}\n" in output]
    put([*failed, *(test for test in tests if test not in failed)])


def explained() -> Callable[[Tried], bool]:
    """Whether a survivor stands in the list: by itself, or by a rule on its operator and line."""
    table = tomllib.loads(EXPLAINED.read_text("utf-8"))
    single = {(row["module"], row["change"].strip()) for row in table["mutant"]}
    rules = [(row["operator"], re.compile(row["line"])) for row in table["rule"]]

    def known(tried: Tried) -> bool:
        made = "\n".join(each for each in tried.change.split("\n") if each.startswith("+"))
        return (tried.mutant.module, tried.change.strip()) in single or any(
            tried.mutant.operator == operator and line.search(made) for operator, line in rules
        )

    return known


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--module", choices=MODULES, action="append")
    asked.add_argument("--share", type=float, default=1.0, help="every n-th mutant only")
    asked.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    said = asked.parse_args()
    mutants = [m for name in said.module or MODULES for m in mutants_of(name)]
    mutants = mutants[:: max(1, round(1.0 / said.share))]
    known, order = explained(), shortest_first()
    counts: Counter[str] = Counter()
    left = 0
    with ProcessPoolExecutor(said.workers, initializer=own_copy, initargs=(order,)) as pool:
        for number, tried in enumerate(pool.map(attempt, mutants), 1):
            outcome = tried.outcome
            if outcome == "survived" and known(tried):
                outcome = "explained"
            counts[outcome] += 1
            if outcome in ("survived", "did not run"):
                left += 1
                print(f"{outcome}: {tried.mutant.module}:{tried.mutant.line} "
                      f"{tried.mutant.operator}\n{tried.change}", flush=True)
            if number % 50 == 0:
                print(f"{number} of {len(mutants)}: {dict(counts)}", flush=True)
    print(f"{len(mutants)} mutants: " + ", ".join(f"{n} {word}" for word, n in counts.items()))
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main())
