"""Mutation testing of the C core: every small change, held against the controller.

    python -m benchmarks.c_mutants [--module causing] [--workers 2] [--afresh]

Each change of `benchmarks.c_changes` runs on the inputs of `benchmarks.c_inputs`: on a few of them
some dozens of changes in one process, which has to be sound again at its end; what doesn't fall
there, in a process of its own on all of them. A change falls when any bit of any tick differs from
what the controller decides, or when it hangs or dies. One that compiles to the very same machine
code is no change. Any other that survives must stand in tests/mutation/explained_c.toml with the
reason, and each reason with the number of changes that survive for it: one that begins to survive
can't hide under a reason that is there. All changes are compiled into one library, in which a
number switches one on. What was tried is kept: an interrupted run goes on where it was; survivors
are tried again. Ends with 1 when anything is left unexplained or counts otherwise.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import re
import sys
import tempfile
import time
import tomllib
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

from benchmarks.c_bench import CORE, Judge, compiled, core_texts, library_of
from benchmarks.c_changes import Change, changes_of
from benchmarks.c_inputs import Inputs, inputs
from benchmarks.c_switched import switched
from benchmarks.copying import ROOT
from coilward.simulator.engine import user_cache

NO_LOGIC = {"tables.c", "tables.h", "flat.h", "coil.h", "types.h", "constants.h"}
"""Words for people, sizes of arrays that only a comparing computer has, and bare structures."""
EXPLAINED = ROOT / "tests" / "mutation" / "explained_c.toml"
TOGETHER = 50
"""Changes that are first tried one after the other, in one process, on a few ticks."""
RUN, COMPARED = "-O0", "-O2"
"""How changes are compiled to be run, and how a survivor is compared with what was there."""


class Kept:
    """What became of changes, a line each, in the user's cache; while their file stays as it is."""

    def __init__(self, afresh: bool) -> None:
        self.path = user_cache() / "c_mutants.jsonl"
        self.path.parent.mkdir(parents=True, exist_ok=True)
        if afresh:
            self.path.unlink(missing_ok=True)
        lines = self.path.read_text("utf-8").splitlines() if self.path.exists() else []
        self.outcomes: dict[str, str] = dict(json.loads(line) for line in lines)
        self.texts = {
            path.name: hashlib.sha256(path.read_bytes()).hexdigest()[:16] for path in CORE.iterdir()
        }

    def key(self, change: Change) -> str:
        return f"{self.texts[change.file]}:{change.key}"

    def known(self, change: Change) -> str:
        """Nothing for a change that wasn't tried."""
        return self.outcomes.get(self.key(change), "")

    def put(self, change: Change, outcome: str) -> None:
        self.outcomes[self.key(change)] = outcome
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps([self.key(change), outcome]) + "\n")


class Explained:
    """Reasons why survivors are no mistakes."""

    def __init__(self, path: Path = EXPLAINED) -> None:
        self.rules: list[dict[str, Any]] = tomllib.loads(path.read_text("utf-8"))["rule"]
        self.used: Counter[int] = Counter()

    def why(self, change: Change) -> str:
        """The first rule whose every word fits; nothing where none does."""
        for number, rule in enumerate(self.rules):
            words = {name: text for name, text in rule.items() if name not in ("why", "survive")}
            if all(re.search(text, str(getattr(change, name))) for name, text in words.items()):
                self.used[number] += 1
                return str(rule["why"])
        return ""

    def miscounted(self) -> list[str]:
        """Rules of which another number of changes survived than they say."""
        return [
            f"{self.used[number]} survive, not {rule['survive']}: {rule['why']}"
            for number, rule in enumerate(self.rules) if self.used[number] != rule["survive"]
        ]


class SameCode:
    """Whether a change leaves the machine code of every file as it is."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="c-mutants-"))
        self.texts = core_texts()
        for name, text in self.texts.items():
            (self.folder / name).write_text(text, "utf-8")
        self.usual: dict[str, bytes] = {}

    def code(self, name: str) -> bytes:
        made = self.folder / "compared.o"
        if refused := compiled(self.folder, name, made, COMPARED):
            raise RuntimeError(refused)
        return made.read_bytes()

    def __call__(self, change: Change) -> bool:
        text = self.texts[change.file]
        touched = [change.file]
        if change.file.endswith(".h"):
            word = re.compile(rf"\b{change.function}\b")
            touched = [n for n, each in self.texts.items() if n[-1] == "c" and word.search(each)]
        for name in touched:
            if name not in self.usual:
                self.usual[name] = self.code(name)
        place = self.folder / change.file
        place.write_text(text[: change.start] + change.text + text[change.end :], "utf-8")
        try:
            return all(self.code(name) == self.usual[name] for name in touched)
        finally:
            place.write_text(text, "utf-8")


JUDGE: list[Judge] = []


def settle_in(library: Path, given: Inputs) -> None:
    """A worker's own judge."""
    JUDGE.append(Judge(library, given))


def judged(numbers: list[int]) -> list[str]:
    """In a worker."""
    return JUDGE[0].outcomes(numbers)


def all_changes() -> list[tuple[int, Change]]:
    """Of every module, with their numbers, from 1; the plain columns of numbers last."""
    found: list[Change] = []
    for path in sorted(CORE.iterdir(), key=lambda each: (each.stem == "flat", each.name)):
        if path.name not in NO_LOGIC:
            found += changes_of(path.name, path.read_text("utf-8"))
    return list(enumerate(found, 1))


def with_changes(numbered: list[tuple[int, Change]]) -> dict[str, str]:
    """Every file, with these changes in it."""
    texts = core_texts()
    unchanged = {name for name in texts if name in NO_LOGIC or not (CORE / name).exists()}
    return switched(texts, numbered, unchanged)


def try_them(numbered: list[tuple[int, Change]], kept: Kept, workers: int) -> None:
    """Tries what isn't known yet, and what survived."""
    left = [pair for pair in numbered if kept.known(pair[1]) in ("", "survived")]
    given = inputs()
    folder = Path(tempfile.mkdtemp(prefix="c-mutants-"))
    print(f"{len(left)} to try on {given.ticks} ticks; all of them into one library", flush=True)
    library = library_of(folder, with_changes(left), given, RUN)
    if not Judge(library, given).is_sound():
        raise RuntimeError("the core differs from the controller without any change")
    same_code, began = SameCode(), time.monotonic()
    with ProcessPoolExecutor(workers, initializer=settle_in, initargs=(library, given)) as pool:
        some = [left[at : at + TOGETHER] for at in range(0, len(left), TOGETHER)]
        found = pool.map(judged, [[number for number, _ in each] for each in some])
        for count, (pairs, outcomes) in enumerate(zip(some, found, strict=True), 1):
            for (_, change), outcome in zip(pairs, outcomes, strict=True):
                same = outcome == "survived" and same_code(change)
                kept.put(change, "same code" if same else outcome)
            rate = count * TOGETHER / (time.monotonic() - began)
            print(f"{count * TOGETHER} of {len(left)}, {rate:.1f} a second", flush=True)


def main() -> int:
    asked = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    asked.add_argument("--module", action="append", help="such as causing; of several, several")
    asked.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    asked.add_argument("--afresh", action="store_true", help="forget what was tried before")
    said = asked.parse_args()
    numbered = [
        (number, change) for number, change in all_changes()
        if not said.module or change.file.rpartition(".")[0] in said.module
    ]
    kept = Kept(said.afresh)
    try_them(numbered, kept, said.workers)
    outcomes = [(change, kept.known(change)) for _, change in numbered]
    return told(outcomes, Explained(), whole=not said.module)


def told(outcomes: list[tuple[Change, str]], explained: Explained, *, whole: bool) -> int:
    """The counts, and whatever has no explanation."""
    left = 0
    counts: dict[str, Counter[str]] = {}
    for change, outcome in outcomes:
        why = explained.why(change) if outcome in ("survived", "same code") else ""
        if outcome == "survived" and why:
            outcome = "explained"
        elif outcome == "survived":
            left += 1
            print(f"survived: {change.file}:{change.line} {change.function} {change.kind}\n"
                  f"  - {change.was}\n  + {change.now}")  # fmt: skip
        counts.setdefault(change.file, Counter())[outcome] += 1
    for file, each in sorted(counts.items()):
        print(f"{file:16} {sum(each.values()):5}  "
              + ", ".join(f"{many} {word}" for word, many in sorted(each.items())))  # fmt: skip
    total = sum(counts.values(), Counter())
    print(f"{len(outcomes)} changes: "
          + ", ".join(f"{many} {word}" for word, many in total.items()))  # fmt: skip
    miscounted = explained.miscounted() if whole else []
    for other in miscounted:
        print(other)
    return 1 if left or miscounted else 0


if __name__ == "__main__":
    sys.exit(main())
