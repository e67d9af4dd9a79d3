"""The proof-test form: one row an interlock, to be done cold, timed, and signed by hand."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from coilward.desk.page.paper import paper, table
from coilward.desk.provoking import BEFORE, procedure
from coilward.desk.tripping import absent, effects, every, limit, trip
from coilward.loop.document import loop_id

if TYPE_CHECKING:
    from coilward.controller.interlocks import Row
    from coilward.desk.tripping import Setting

CSS = """
table.form td { padding-top: 5px; padding-bottom: 5px; }
table.form td:nth-last-child(-n+3) { border: 1px solid #16202c; }
.never { display: inline-block; border: 1.5px solid #16202c; padding: 0 4px; font-weight: 700;
  font-size: 9px; }
.who { display: flex; gap: 18px; margin: 10px 0 4px; font-size: 12px; }
.who span { flex: 1; border-bottom: 1px solid #16202c; padding-bottom: 2px; }
"""
NEVER = '<span class="never">NEVER WITH A FIRE IN</span>'


def form_page(here: Setting) -> str:
    """The form for one loop."""
    heads = [
        ("row", 28, False), ("cause, with this loop's numbers", 150, False),
        ("how to provoke it, cold", 262, False), ("limit", 58, False),
        ("measured, s", 66, False), ("signature", 90, False), ("date", 64, False),
    ]  # fmt: skip
    rows = [_row(row, here) for row in every()]
    blanks = "".join(f"<span>{each}</span>" for each in ("Tested by", "Second person", "Date"))
    before = "".join(f"<li>{escape(each)}</li>" for each in BEFORE)
    return paper(
        f"{here.loop.name}: proof test of the interlocks",
        "print one-sided, fill in by hand",
        [
            f'<div class="who">{blanks}</div>',
            f"<ol>{before}</ol>",
            table(heads, rows, "form"),
            "<p>A row that is not signed is not proven. A test shows that the row acted today; it "
            "does not make the fire safe.</p>",
        ],
        f"Loop {loop_id(here.loop)}. Void when the loop or its logic changes.",
        CSS,
    )


def _row(row: Row, here: Setting) -> list[str]:
    lacks = absent(row, here)
    how = procedure(row.name)
    told = f"{escape(how.how)}<small>Must follow: {escape(_expected(row))}.</small>"
    if how.never_with_fire:
        told = f"{NEVER} {told}"
    if lacks:
        told = f"Not at work in this loop: no {escape(lacks)} is measured."
    return [
        f"<b>{row.name}</b>", escape(trip(row, here)), told,
        "" if lacks else escape(limit(row, here)), "", "", "",
    ]  # fmt: skip


def _expected(row: Row) -> str:
    return ", ".join(f"{name} {code}" for name, code in effects(row))
