"""The certificate of one calibration: one side of paper, to be signed."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Final

from coilward.desk.certificate import Certificate, Here
from coilward.desk.page.paper import drawing, paper, table
from coilward.desk.page.points import points_picture
from coilward.desk.page.style import fit
from coilward.desk.rewriting import Rewrite, told
from coilward.loop.document import loop_id

CSS: Final = """
.two { display: grid; grid-template-columns: 1fr 1fr; gap: 16px; align-items: start; }
.two table.rows { width: 350px; margin-bottom: 6px; }
.diff { font: 9.5px/1.4 "DejaVu Sans Mono", Consolas, monospace; white-space: pre-wrap;
  overflow-wrap: anywhere; margin: 3px 0; }
.stop { border: 2px solid #16202c; padding: 3px 7px; font-weight: 700; margin: 5px 0; }
.who { display: flex; gap: 18px; margin: 34px 0 6px; }
.who span { flex: 1; border-top: 1px solid #16202c; padding-top: 2px; color: #5c6773; }
.two ul { margin: 3px 0; padding-left: 16px; }
@media print { .sheet { zoom: var(--upright, 1); } .sheet * { zoom: 1; } }
@media print and (orientation: landscape) { .sheet { zoom: var(--lying, .7); } }
"""


def certificate_page(
    certificate: Certificate, here: Here, rewrite: Rewrite, source: str
) -> str:
    """The page as one HTML text."""
    c = certificate
    stops = "".join(f'<p class="stop">{escape(each)}</p>' for each in c.against)
    page = paper(
        c.title,
        "certificate of calibration",
        [
            f'<p class="answer strong">{escape(c.answer)}</p>{stops}',
            drawing(points_picture(c.picture)),
            f'<div class="two"><div>{_results(c)}{_budget(c)}</div><div>{_readings(c)}</div></div>',
            f"<h2>How</h2><p>{escape(c.method)}</p>{_listed(c.formulas)}",
            f'<div class="two"><div><h2>To know</h2>{_listed(c.remarks) or "<p>Nothing.</p>"}</div>'
            f"<div><h2>In the loop file</h2>{_diff(rewrite)}</div></div>",
            '<div class="who"><span>Measured by</span><span>Checked by</span><span>Instruments '
            "used</span><span>Date and signature</span></div>",
        ],
        f"Readings: {escape(source)}, {here.today}. Loop {loop_id(here.loop)} as it was. Void when "
        "the instrument is changed, moved or mended.",
        CSS,
    )
    return page.replace("</body>", f"<script>{fit('.sheet')}</script>\n</body>")


def _results(c: Certificate) -> str:
    heads = [("result", 150, False), ("", 200, False)]
    rows = [[escape(label), f"<b>{escape(text)}</b>"] for label, text in c.results]
    return table(heads, rows)


def _budget(c: Certificate) -> str:
    if not c.budget:
        return ""
    heads = [("source of doubt", 200, False), ("u", 80, True), ("freedom", 70, True)]
    return table(heads, [list(map(escape, row)) for row in c.budget])


def _readings(c: Certificate) -> str:
    width = 350 // len(c.heads)
    return table([(head, width, False) for head in c.heads], [list(map(escape, r)) for r in c.rows])


def _listed(texts: Sequence[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(each)}</li>' for each in texts)}</ul>" if texts else ""


def _diff(rewrite: Rewrite) -> str:
    lines = "\n".join(rewrite.diff()) or "no line changes"
    worse = _listed([f"Less safe: {told(each, rewrite.loop)}." for each in rewrite.less_safe])
    return f'<p class="diff">{escape(lines)}</p>{worse}'
