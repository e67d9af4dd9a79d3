"""Corrupts an emulated board that runs, again and again, beside a twin that is left alone.

    python -m benchmarks.corruptions [--times 200] [--seed 1]    # a quarter of an hour

Recorded nights with a fault are fed to the board's pins. In each run one thing goes wrong at a
random moment: a bit of the loop's numbers, of the state, of other memory, of the stack or a
register, the program counter, a clock. Told: what became of each, and a table. The exit code is 1
where anything was missed: outputs that differ from the twin's and nobody notices, that are not
safe once somebody has, or a memory that is kept damaged.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict

from tests.firmware.aftermath import campaign
from tests.firmware.corruptions import KINDS
from tests.firmware.twins import NIGHTS

LASTS_S = 420.0
COLUMNS = (
    "constants", "state", "decision", "ram", "stack", "flow", "clock", "hardware", "harmless",
    "missed",
)  # fmt: skip


def main() -> None:
    """Run the campaign and tell."""
    parser = argparse.ArgumentParser(description="Corrupt an emulated board.")
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    after_s = defaultdict(list)
    for played in campaign(list(NIGHTS), LASTS_S, asked.times, asked.seed):
        result, check, seconds, words = played.outcome
        column = check if result == "detected" else result
        after_s[played.corruption.kind, column].append(seconds)
        sys.stdout.write(
            f"{played.night}, {played.at_s:.2f} s, {played.corruption.kind}: "
            f"{played.corruption.words}: {result} {check} {seconds:.2f} s {words}\n"
        )
        sys.stdout.flush()
    sys.stdout.write(table(after_s))
    sys.exit(1 if any(after_s[kind, "missed"] for kind in KINDS) else 0)


def table(after_s: dict[tuple[str, str], list[float]]) -> str:
    """How many of each kind ended how; in brackets the longest time it took, s."""
    rows = [f"| corrupted | {' | '.join(COLUMNS)} |", "|---" * (1 + len(COLUMNS)) + "|"]
    for kind in KINDS:
        cells = [cell(after_s[kind, column], column) for column in COLUMNS]
        rows.append(f"| {kind} | {' | '.join(cells)} |")
    return "\n".join([*rows, ""])


def cell(seconds: list[float], column: str) -> str:
    """Empty where it never happened."""
    if not seconds:
        return ""
    return f"{len(seconds)}" if column == "harmless" else f"{len(seconds)} ({max(seconds):.2f})"


if __name__ == "__main__":
    main()
