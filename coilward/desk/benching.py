"""What a bench says in words: the sentence, what was compared, and what no bench can show."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, Literal

from coilward.desk.cautions import CAUTIONS
from coilward.desk.console import heading, item, lead
from coilward.hil.bench.run import PARTS

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.hil.bench.report import Played, Report, RowTimes

NOT_SHOWN: Final = (
    "The bench talks to the board's logic over a wire. It does not see real thermometers, relays, "
    "contactors, servos or water: each of those is proven at the loop, cold, on the proof-test "
    "form (coilward interlocks LOOP --form).",
    "What the outputs do is what the board says of them. A relay that is stuck, or wired the wrong "
    "way round, shows at the loop alone.",
    "A board that agrees decides as our logic does in the cases that were played. It does not "
    "make the fire safe: that takes pipes, springs and weights that need no board.",
    "Other firmware, other constants or another board are another bench.",
)
StandIn = Literal["", "pretended", "emulated"]
STOOD_IN: Final[dict[StandIn, str]] = {
    "": "",
    "pretended": "The board was a pretended one: a process of this computer. This shows that the "
    "bench works, and nothing of any board.",
    "emulated": "The board was an emulated one: the firmware of this loop, on a processor that is "
    "played by this computer. This shows what the firmware decides, and nothing of any board.",
}
"""What has to be said where no board was benched, by what stood in for it."""


def agrees(report: Report) -> bool:
    """Nothing was found, and every part was played to its end."""
    return not report.findings and not report.stopped and len(report.parts_done) == len(PARTS)


def headline(report: Report) -> str:
    """The answer in one sentence."""
    rows = measured(report)
    cases = sum(row.spread.times + row.missed for row in rows)
    ticks = sum(each.ticks for each in (*report.nights, *report.faults))
    nights = len(report.nights)
    amount = (
        f"{len(rows)} interlocks in {cases:,} cases, {len(report.faults)} faults and "
        f"{nights} whole night{'s' * (nights != 1)} ({ticks:,} ticks)"
    )
    if report.findings:
        count = len(report.findings)
        told = "one finding" if count == 1 else f"{count} findings"
        after = " before it was stopped" if report.stopped else ""
        return f"The board does not agree: {told}{after}, in {amount}."
    if not agrees(report):
        return f"Stopped before its end: nothing was found until then, in {amount}."
    return f"The board decides as the reference does, to the last bit, in {amount}."


def measured(report: Report) -> list[RowTimes]:
    """The rows that could be measured."""
    return [row for row in report.rows if not row.why_not]


def board_said(report: Report) -> list[tuple[str, str]]:
    """What board that was, by its own words."""
    board = report.board
    if board is None:
        return [("board", "did not greet")]
    constants = int(board["constants"])
    own = "this loop's" if constants == report.constants else "NOT this loop's"
    return [
        ("program", str(board["program"])),
        ("constants", f"{constants:08x}, {own}"),
        ("table of messages", str(board["table"])),
        ("tick", f"{float(board['tick_s']):g} s"),
    ]


def seconds(value: float) -> str:
    """Seconds to the hundredth; a dash where there are none."""
    return f"{value:.2f}" if math.isfinite(value) else "\N{EN DASH}"


def row_said(row: RowTimes) -> str:
    """Verdict on one interlock."""
    if row.why_not:
        return f"not measured: {row.why_not}"
    if row.missed:
        return f"FAILED: too late or never, {row.missed} times"
    if row.differing:
        return f"FAILED: {row.first}"
    return "passed"


def played_said(played: Played) -> str:
    """Verdict on one night or fault."""
    return "the same decisions" if played.passed else f"DIFFERS: {played.first}"


def answers_said(report: Report) -> str:
    """How fast the board answers."""
    spread = report.answers
    if not spread.times:
        return "No tick was answered."
    how = "against the clock" if report.paced else "in lockstep"
    return (
        f"{spread.times:,} answers {how}: median {1000 * spread.median_s:.1f} ms, worst "
        f"{1000 * spread.worst_s:.0f} ms, of {1000 * report.tick_s:.0f} ms that a tick has."
    )


def silence_said(report: Report) -> str:
    """What became of the board's own dead-man."""
    silent = report.silent
    if silent is None or not silent.spread.times:
        return "The board's dead-man was not seen to act."
    return (
        f"{silent.spread.times} silences: the outputs went to their safe side after "
        f"{seconds(silent.spread.least_s)} to {seconds(silent.spread.worst_s)} s, of at most "
        f"{silent.limit_s:g} s."
    )


def say_bench(console: Console, report: Report, *, stand_in: StandIn) -> None:
    """All of it on the console."""
    item(console, headline(report), indent=0, style="bold")
    if stand_in:
        item(console, STOOD_IN[stand_in], indent=0)
    heading(console, "Board")
    for label, text in board_said(report):
        lead(console, label, text, width=18)
    heading(console, "Interlocks: seconds from cause to outputs")
    for row in report.rows:
        spread = row.spread
        times = (
            f"limit {row.limit_s:6.2f}  least {seconds(spread.least_s):>6}  median "
            f"{seconds(spread.median_s):>6}  worst {seconds(spread.worst_s):>6}  of "
            f"{spread.times}  "
        )
        lead(console, row.name, ("" if row.why_not else times) + row_said(row), width=4)
    heading(console, "Nights")
    for night in report.nights:
        lead(console, night.name, f"board {night.board}, reference {night.reference}, pure "
             f"simulation {night.alone}: {played_said(night)}", width=20)  # fmt: skip
    heading(console, "Wire and board")
    passed = [trial for trial in report.wires if not trial.first]
    item(console, f"{len(passed)} of {len(report.wires)} trials cost no decision. "
         f"{silence_said(report)} {answers_said(report)}")  # fmt: skip
    if report.findings:
        heading(console, "Findings")
        for found in report.findings:
            lead(console, "-", f"{found.part}: {found.words}", width=1, indent=4)
    heading(console, "What a bench can't show")
    for text in (*NOT_SHOWN, *CAUTIONS):
        lead(console, "-", text, width=1, indent=4)
