"""The rows of the cause-and-effect table as C, for a proof that must not read the logic's masks."""

from __future__ import annotations

from coilward.controller.interlocks import ROWS, TIERS

EFFECTS: dict[str, dict[str, int]] = {
    "pump": {"=": 0, "off": 1, "on": 2},
    "valve": {"=": 0, "open": 1, "hold": 2},
    "fans": {"=": 0, "off": 1, "half": 2, "full": 3},
    "damper": {"=": 0, "shut": 1},
    "dump": {"=": 0, "open": 1, "hold": 2},
}
"""Effects on each actuator, the stronger of one tier with the larger number."""


def rows_header() -> str:
    """One array a column, and a name for each effect."""
    lines = ["#ifndef ROWS_H", "#define ROWS_H", f"#define ROW_COUNT {len(ROWS)}"]
    for column, effects in EFFECTS.items():
        lines += [
            f"#define TABLE_{column.upper()}_{effect.upper()} {number}"
            for effect, number in effects.items() if effect != "="
        ]
        lines.append(_array(column, [effects[getattr(row, column)] for row in ROWS]))
    lines.append(_array("horn", [row.horn for row in ROWS]))
    lines.append(_array("tier", [len(TIERS) - TIERS.index(row.tier) for row in ROWS]))
    return "\n".join([*lines, "#endif", ""])


def _array(column: str, numbers: list[int]) -> str:
    listed = ", ".join(str(number) for number in numbers)
    return f"static const int TABLE_{column.upper()}[ROW_COUNT] = {{{listed}}};"
