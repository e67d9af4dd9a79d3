"""The shell of the pages that are tables: as many sides of paper as they need, one-sided."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape
from importlib.metadata import version
from typing import Final

from coilward.desk.cautions import CAUTIONS
from coilward.desk.page.style import CSS

FONTS: Final = "Segoe UI, Helvetica Neue, Arial, Liberation Sans, sans-serif"
_UNIT: Final = re.compile(r"(\d) (°C|°F|K|F°|s|min|h|L/min|gpm|A|V|kW|%|m)(?![\w/])")
TABLES: Final = """
h2 { font-size: 13px; margin: 14px 0 4px; break-after: avoid; }
.sheet p { margin: 3px 0; }
.sheet > p, .sheet > ol, .sheet > ul { max-width: 690px; }
.sheet > ol, .sheet > ul { margin: 3px 0; padding-left: 18px; }
table.rows { table-layout: fixed; }
table.rows thead { display: table-header-group; }
table.rows tr { break-inside: avoid; }
table.rows th { text-align: left; font-weight: 700; font-size: 10px; vertical-align: bottom;
  border-bottom: 1.5px solid #16202c; padding: 2px 6px 2px 0; }
table.rows td { padding: 2.5px 6px 2.5px 0; overflow-wrap: break-word; white-space: normal;
  color: #16202c; border-bottom: 1px solid #b9c1c8; }
table.rows td:first-child { color: #16202c; white-space: normal; }
table.rows td.n, table.rows th.n { text-align: right; padding-right: 10px;
  font-variant-numeric: tabular-nums; }
table.rows small { display: block; color: #3c4652; font-size: 9.5px; }
.drawing { break-inside: avoid; margin: 4px 0; }
.drawing svg { display: block; width: 718px; height: auto; }
.answer.strong { font-weight: 700; }
code { font-family: "DejaVu Sans Mono", Consolas, monospace; font-size: 9.5px; }
@media print { .sheet, .sheet * { zoom: 1; } }
"""


def paper(
    title: str, about: str, parts: Sequence[str], footer: str, css: str = "",
    viewport: str = "width=760",
) -> str:  # fmt: skip
    """One HTML text that stands alone and prints on as many sides as it needs.

    `parts` and `footer` are HTML; title and `about` are plain words. `viewport` is what a phone
    takes for its width.
    """
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="{viewport}">\n'
        f"<title>{escape(title)}</title>\n<style>{CSS}{TABLES}{css}</style>\n</head>\n<body>\n"
        f'<main class="sheet">\n<header><h1>{escape(title)}</h1><span>{escape(about)}, coilward '
        f"{escape(version('coilward'))}</span></header>\n{''.join(parts)}\n"
        f'<p class="cautions"><b>Take care.</b> {escape(" ".join(CAUTIONS))}</p>\n'
        f"<footer>{footer}</footer>\n</main>\n</body>\n</html>\n"
    )


def table(
    heads: Sequence[tuple[str, int, bool]], rows: Sequence[Sequence[str]], name: str = ""
) -> str:
    """A table that repeats its head on every side of paper.

    A head is its words, its width in px and whether its column holds numbers; a cell is HTML.
    """
    rows = [[_together(cell) for cell in row] for row in rows]
    right = [' class="n"' if number else "" for _, _, number in heads]
    columns = "".join(f'<col style="width:{width}px">' for _, width, _ in heads)
    head = "".join(
        f"<th{mark}>{escape(words)}</th>"
        for (words, _, _), mark in zip(heads, right, strict=True)
    )
    body = "".join(
        "<tr>"
        + "".join(f"<td{mark}>{cell}</td>" for cell, mark in zip(row, right, strict=True))
        + "</tr>\n"
        for row in rows
    )
    return (
        f'<table class="rows {name}"><colgroup>{columns}</colgroup><thead><tr>{head}</tr></thead>'
        f"<tbody>\n{body}</tbody></table>\n"
    )


def _together(cell: str) -> str:
    """A number stays on one line with its unit."""
    return _UNIT.sub("\\1\N{NO-BREAK SPACE}\\2", cell)


def drawing(svg: str) -> str:
    """A picture in the page, never broken over two sides."""
    return f'<div class="drawing">{svg}</div>'


def picture(svg: str) -> str:
    """The picture as a file of its own."""
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{svg}\n'
