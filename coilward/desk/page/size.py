"""The page of the sums: one side of paper; beside another loop, that comparison before it."""

from __future__ import annotations

from html import escape
from itertools import groupby
from typing import TYPE_CHECKING, Final

from coilward.desk.page.bars import effect_bars
from coilward.desk.page.paper import drawing, paper, table
from coilward.desk.page.safe_maps import heat_flow_map, heat_tank_map
from coilward.desk.page.sheet import SHAPES
from coilward.desk.page.style import fit
from coilward.desk.size_words import (
    answer,
    conclusion,
    helps,
    margin,
    margin_heads,
    minutes,
    seconds,
    shown,
    step,
    verdicts,
    worse_findings,
)
from coilward.desk.verdict import ALWAYS
from coilward.loop.document import loop_id
from coilward.loop.trips import is_tub
from coilward.loop.units import show
from coilward.sizing.settling import NEAR_K, SETTLING, boils

if TYPE_CHECKING:
    from coilward.desk.size import Sums, Told
    from coilward.sizing.comparing import Compared
    from coilward.sizing.row import Row
    from coilward.sizing.settling import State

CSS: Final = """
.sheet .verdict p { color: #16202c; }
h2 { margin: 7px 0 2px; font-size: 12px; }
.two { display: grid; grid-template-columns: 1fr 1fr; gap: 16px; }
.two .drawing svg, .wide .drawing svg { width: 100%; }
.blocks { columns: 3; column-gap: 18px; }
.block { break-inside: avoid; margin-bottom: 5px; }
.block h2 { margin-top: 2px; font-size: 11px; }
.block td { padding: 1px 0; }
.block td:first-child { white-space: normal; color: #16202c; }
.block td:last-child { text-align: right; white-space: nowrap; font-weight: 700;
  font-variant-numeric: tabular-nums; }
.block small { display: block; color: #5c6773; font-size: 9px; line-height: 1.15; }
ul.remarks { margin: 3px 0; padding-left: 14px; columns: 2; column-gap: 34px; }
ul.remarks li { break-inside: avoid; }
.worse { color: #a3210f; font-weight: 700; }
.apart ul { margin: 3px 0 6px; padding-left: 16px; }
.apart { break-after: page; margin-bottom: 14px; border-bottom: 2px solid #16202c;
  padding-bottom: 8px; }
table.rows td.n { white-space: nowrap; }
.main { break-after: page; }
.states td { padding-top: 1px; padding-bottom: 1px; }
@media print { .sheet .main { zoom: var(--upright, 1); } }
@media print and (orientation: landscape) { .sheet .main { zoom: var(--lying, .7); } }
@media screen and (max-width: 760px) {
  .sheet { width: auto; margin: 0; padding: 10px; box-shadow: none; }
  header { display: block; }
  table.compared { table-layout: auto; }
  table.compared col { width: auto !important; }
  .two, .blocks, ul.remarks { display: block; columns: 1; }
  .wide { overflow-x: auto; }
  .wide > * { min-width: 640px; }
  body { font-size: 13px; }
  .block small { font-size: 11px; }
}
"""
HEADER_PX: Final = 40
SCRIPT: Final = f'<script>{fit(".main", HEADER_PX)}</script>'


def size_page(told: Told) -> str:
    """The page as one HTML text."""
    sums, name = told.after, told.after.sized.loop.name
    title = f"{name}: the sums before anything is bought"
    parts = [
        _against(told), '<section class="main">', _top(sums), _states(sums),
        f'<div class="two">{drawing(heat_flow_map(sums.sized))}'
        f"{drawing(heat_tank_map(sums.sized))}</div>",
        _blocks(sums), "</section>",
        "<h2>What moves the margins most</h2>",
        f'<div class="wide">{drawing(effect_bars(sums))}</div>',
        _remedies(sums), SCRIPT,
    ]  # fmt: skip
    footer = f"Loop {loop_id(sums.sized.loop)}. Do it again: <code>{escape(told.command)}</code>"
    return paper(
        title, "sums", parts, footer, CSS, viewport="width=device-width, initial-scale=1"
    )


def _top(sums: Sums) -> str:
    findings = [each for each in sums.found.every if each.severity == "stop"]
    shape = SHAPES["do not light" if findings else "attended only"]
    listed = "".join(f"<li>{escape(each.text)}</li>" for each in findings)
    remarks = "".join(f"<li>{escape(each)}</li>" for each in sums.sized.remarks)
    return (
        f'<p class="answer">{escape(answer(sums))}</p><div class="verdict"><svg '
        f'viewBox="0 0 46 46" aria-hidden="true">{shape}</svg><div><strong>'
        f"{escape(sums.found.conclusion)}</strong><ul>{listed}</ul><p>{escape(ALWAYS)}</p></div>"
        f'</div><ul class="remarks">{remarks}</ul>'
    )


def _states(sums: Sums) -> str:
    sized = sums.sized
    system = sized.system
    heads = [("", 178, False), *((state.name, 108, True) for state in sized.states)]

    def hot(state: State, number: float) -> str:
        return "<b>BOILS &#9650;</b>" if boils(state) else show(number, "c", system)

    lines: list[tuple[str, list[str]]] = [
        ("outlet ends at", [hot(each, each.outlet_c) for each in sized.states]),
        ("tub, judged at" if is_tub(sized.loop) else "tank ends at",
         [hot(each, each.tank_c) for each in sized.states]),
        ("flow", [show(each.flow_lpm, "lpm", system) for each in sized.states]),
        ("time constant", [minutes(each.tau_s) for each in sized.states]),
        (f"within {show(NEAR_K, 'k', system)} of its end after",
         ["–" if boils(each) else minutes(each.near_s) for each in sized.states]),
        ("boils, water flowing, after", [minutes(each.boils_s) for each in sized.states]),
        ("boils without flow after", [seconds(each.still_s) for each in sized.states]),
        ("the same with the wall's film", [seconds(each.still_film_s) for each in sized.states]),
    ]  # fmt: skip
    rows = [[escape(name), *cells] for name, cells in lines if set(cells) != {"–"}]
    return f'<h2>{SETTLING}</h2><div class="wide">{table(heads, rows, "states")}</div>'


def _blocks(sums: Sums) -> str:
    system = sums.sized.system
    blocks = [
        _block(chapter, list(rows), sums)
        for chapter, rows in groupby(sums.sized.rows, key=lambda row: row.chapter)
        if chapter != SETTLING
    ]
    wires = "".join(
        f"<tr><td>{escape(wire.name)}{' (fitted)' if wire.fitted else ''}</td>"
        f"<td>{wire.drop_v:.2f} V, {show(wire.flow_lpm, 'lpm', system)}</td></tr>"
        for wire in sums.sized.wires
    )
    blocks.append(
        f'<div class="block"><h2>Wire to the pump: lost, flow left</h2><table>{wires}</table></div>'
    )
    return f'<div class="blocks">{"".join(blocks)}</div>'


def _block(chapter: str, rows: list[Row], sums: Sums) -> str:
    cells = "".join(
        f"<tr><td>{escape(row.name)}"
        + (f"<small>{escape(row.note)}</small>" if row.note else "")
        + f"</td><td>{escape(shown(row, sums.sized.system))}</td></tr>"
        for row in rows
    )
    return f'<div class="block"><h2>{escape(chapter)}</h2><table>{cells}</table></div>'


def _remedies(sums: Sums) -> str:
    sized, bad = sums.sized, bool(sums.found.stops)
    told = margin_heads(sums)
    heads = [
        ("change", 130, False), ("by", 42, True), *((words, 92, True) for _, words, _ in told),
        ("alone", 178, False),
    ]  # fmt: skip
    now = [
        "<b>as it is</b>", "",
        *(margin(sized.margins, key, unit, sized.system) for key, _, unit in told), "",
    ]  # fmt: skip
    rows = [now] + [
        [escape(each.words), step(each),
         *(margin(each.after, key, unit, sized.system) for key, _, unit in told),
         f"<b>{escape(helps(each, bad))}</b>" if bad else escape(helps(each, bad))]
        for each in sized.remedies
    ]  # fmt: skip
    return (
        f"<h2>What to change next</h2><p>{escape(conclusion(sums))}</p>"
        f'<div class="wide">{table(heads, rows, "remedies")}</div>'
    )


def _against(told: Told) -> str:
    if told.before is None:
        return ""
    verdict = verdicts(told)
    mark = ' class="worse"' if "WORSE" in verdict else ""
    found = "".join(
        f'<li class="worse">WORSE: {escape(text)}</li>' for text in worse_findings(told)
    )
    moved = [each for each in told.compared if each.word != "same"]
    blocks = [
        _moved(chapter, list(rows), told)
        for chapter, rows in groupby(moved, key=lambda each: each.row.chapter)
    ]
    none = "" if moved else "<p>No number changes.</p>"
    before, after = told.before.sized.loop.name, told.after.sized.loop.name
    return (
        f'<div class="apart"><h2>Before ({escape(before)}) and after ({escape(after)})</h2>'
        f"<p><b{mark}>{escape(verdict)}</b></p><ul>{found}</ul>{none}"
        f"{''.join(blocks)}</div>"
    )


def _moved(chapter: str, rows: list[Compared], told: Told) -> str:
    heads = [(chapter, 330, False), ("before", 110, True), ("after", 110, True), ("", 100, False)]
    cells = [
        [escape(each.row.name),
         *(escape(shown(row, told.system)) if row else "–" for row in (each.before, each.after)),
         '<span class="worse">WORSE &#9660;</span>' if each.word == "WORSE" else each.word]
        for each in rows
    ]  # fmt: skip
    return table(heads, cells, "compared")
