"""The page of a bench: what board, how fast, the same or not, and a place to sign."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

from coilward.controller.interlocks import INDEX, ROWS
from coilward.desk.benching import (
    NOT_SHOWN,
    STOOD_IN,
    agrees,
    answers_said,
    board_said,
    headline,
    played_said,
    row_said,
    seconds,
    silence_said,
)
from coilward.desk.page.paper import paper, table
from coilward.desk.page.sheet import SHAPES
from coilward.loop.document import loop_id

if TYPE_CHECKING:
    from collections.abc import Sequence

    from coilward.desk.benching import StandIn
    from coilward.hil.bench.report import Played, Report, RowTimes
    from coilward.loop.model import Loop

CSS: Final = """
.sheet .verdict p { color: #16202c; }
.who { display: flex; gap: 18px; margin: 34px 0 6px; }
.who span { flex: 1; border-top: 1px solid #16202c; padding-top: 2px; color: #5c6773; }
table.times b, table.times td.n, table.times th.n { white-space: nowrap; }
"""


def bench_page(loop: Loop, report: Report, command: str, *, stand_in: StandIn) -> str:
    """The page as one HTML text."""
    return paper(
        f"{loop.name}: the board on the bench",
        "hardware in the loop",
        [
            _verdict(report, stand_in=stand_in),
            _board(report),
            _findings(report),
            _interlocks(report),
            _nights(report),
            _faults(report),
            _wires(report),
            "<h2>What a bench can't show</h2>", _listed(NOT_SHOWN),
            _signed(report, stand_in=stand_in),
        ],
        f"Loop {loop_id(loop)}, seed {report.seed}. Do it again: <code>{escape(command)}</code>",
        CSS,
    )  # fmt: skip


def _verdict(report: Report, *, stand_in: StandIn) -> str:
    # A board that agrees makes no fire safe: the shape is that of a fire with a person beside it.
    shape = SHAPES["attended only" if agrees(report) else "do not light"]
    word = "AGREES WITH THE REFERENCE" if agrees(report) else (
        "DOES NOT AGREE" if report.findings else "NOT FINISHED"
    )
    note = f"<p><b>{escape(STOOD_IN[stand_in])}</b></p>" if stand_in else ""
    stopped = "<p>A person stopped the bench before its end.</p>" if report.stopped else ""
    return (
        f'<div class="verdict"><svg viewBox="0 0 46 46" aria-hidden="true">{shape}</svg>'
        f"<div><strong>{word}</strong><p>{escape(headline(report))}</p>{stopped}{note}</div></div>"
    )


def _board(report: Report) -> str:
    told = "; ".join(f"{label} <b>{escape(text)}</b>" for label, text in board_said(report))
    return f"<h2>Which board</h2><p>By its own words: {told}.</p>"


def _findings(report: Report) -> str:
    if not report.findings:
        return "<h2>Found</h2><p>Nothing.</p>"
    return "<h2>Found</h2>" + _listed([f"{each.part}: {each.words}" for each in report.findings])


def _interlocks(report: Report) -> str:
    heads = [
        ("row", 36, False), ("cause", 198, False), ("limit, s", 58, True), ("least", 44, True),
        ("median", 48, True), ("worst", 44, True), ("cases", 42, True), ("", 248, False),
    ]  # fmt: skip
    note = (
        "<p>Seconds from the cause at the board's input to the last output, with the whole tick in "
        "which the cause comes, and without the lag of any thermometer. Where the cause is itself "
        "a time, or follows from others, they count from when it is there; in rows marked * the "
        "reference plays all but the end of a long wait and hands its memory to the board.</p>"
    )
    rows = [_row(row) for row in report.rows]
    return f"<h2>Interlocks</h2>{note}{table(heads, rows, 'times')}"


def _row(row: RowTimes) -> list[str]:
    cause = ROWS[INDEX[row.name]].cause if row.name in INDEX else ""
    said = escape(row_said(row))
    spread = row.spread
    return [
        f"<b>{row.name}{'*' if row.handed else ''}</b>", escape(cause), seconds(row.limit_s),
        seconds(spread.least_s), seconds(spread.median_s), seconds(spread.worst_s),
        f"{spread.times}", said if row.passed or row.why_not else f"<b>{said}</b>",
    ]  # fmt: skip


def _nights(report: Report) -> str:
    if not report.nights:
        return "<h2>Whole nights</h2><p>None was played to its end.</p>"
    heads = [
        ("night", 140, False), ("ticks", 60, True), ("board", 122, False),
        ("reference", 122, False), ("pure simulation", 122, False), ("", 152, False),
    ]  # fmt: skip
    rows = [
        [escape(each.name), f"{each.ticks:,}", f"<code>{each.board}</code>",
         f"<code>{each.reference}</code>", f"<code>{each.alone}</code>", _bold(each)]
        for each in report.nights
    ]  # fmt: skip
    return (
        "<h2>Whole nights</h2><p>A hash over everything that was decided and remembered, tick by "
        f"tick: equal hashes are equal decisions to the last bit.</p>{table(heads, rows)}"
    )


def _bold(played: Played) -> str:
    said = escape(played_said(played))
    return said if played.passed else f"<b>{said}</b>"


def _faults(report: Report) -> str:
    wrong = [each for each in report.faults if not each.passed]
    ticks = sum(each.ticks for each in report.faults)
    told = (
        f"{len(report.faults)} faults of the catalogue were injected, {ticks:,} ticks; "
        f"{len(report.faults) - len(wrong)} were met as by the reference."
    )
    return f"<h2>Faults on the wire</h2><p>{told}</p>" + _listed(
        [f"{each.name}: {played_said(each)}" for each in wrong]
    )


def _wires(report: Report) -> str:
    heads = [("what befell wire or board", 330, False), ("pieces hit", 70, True), ("", 318, False)]
    rows = [
        [escape(each.name), f"{each.touched}",
         f"<b>{escape(each.first)}</b>" if each.first else "no decision lost or changed"]
        for each in report.wires
    ]  # fmt: skip
    return (
        f"<h2>Wire and board</h2>{table(heads, rows)}<p>{escape(silence_said(report))} "
        f"{escape(answers_said(report))}</p>"
    )


def _signed(report: Report, *, stand_in: StandIn) -> str:
    if stand_in or not agrees(report):
        why = f"a board that was only {stand_in}" if stand_in else "a board that does not agree"
        return f"<p><b>There is nothing to sign: {why} is no board for a loop.</b></p>"
    return (
        '<div class="who"><span>Board (serial number)</span><span>Benched by</span>'
        "<span>Checked by</span><span>Date and signature</span></div>"
    )


def _listed(texts: Sequence[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(each)}</li>' for each in texts)}</ul>" if texts else ""
