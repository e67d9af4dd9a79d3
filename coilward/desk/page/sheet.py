"""The page of one rehearsed night: everything on one side of paper, nothing from a network."""

from __future__ import annotations

import json
from html import escape
from importlib.metadata import version
from typing import TYPE_CHECKING, Any, Final

from bokeh.embed import json_item
from bokeh.resources import Resources

from coilward.desk.cautions import CAUTIONS
from coilward.desk.page.charts import Chart, flows, heats, shown, temperatures
from coilward.desk.page.drawing import drawn, ribbon
from coilward.desk.page.events import events, fitting, words
from coilward.desk.page.palette import Stroke
from coilward.desk.page.style import CSS, fit
from coilward.desk.page.window import windows
from coilward.desk.passive import hardware
from coilward.desk.report import margins
from coilward.desk.times import clock
from coilward.desk.verdict import ALWAYS
from coilward.loop.document import loop_id
from coilward.loop.units import System, convert

if TYPE_CHECKING:
    from coilward.desk.verdict import Verdict, Word
    from coilward.simulator.run import Run

MOST_REASONS: Final = 4
SHAPES: Final[dict[Word, str]] = {
    "may be lit": '<circle cx="23" cy="23" r="20" fill="#fff" stroke="#1d6b54" stroke-width="5"/>'
    '<path d="M14 24l7 7 12-15" fill="none" stroke="#1d6b54" stroke-width="5"/>',
    "attended only": '<path d="M23 3L44 42H2z" fill="#fff" stroke="#a86a10" stroke-width="4.5" '
    'stroke-linejoin="round"/><path d="M23 16v13M23 33v4" stroke="#a86a10" stroke-width="4.5"/>',
    "do not light": '<path d="M14.5 2.5h17l12 12v17l-12 12h-17l-12-12v-17z" fill="#a3210f"/>'
    '<path d="M14 14l18 18M32 14L14 32" stroke="#fff" stroke-width="6"/>',
}
"""Circle with a tick, triangle with a mark, filled octagon with a cross: told apart in grey."""


def page(run: Run, verdict: Verdict, answer: str, command: str, system: System) -> str:
    """The page as one HTML text."""
    every = windows(run)
    charts = (temperatures(run), flows(run), heats(run))
    items = {"ribbon": ribbon(run, every)}
    items |= {chart.key: drawn(chart, run, every, system) for chart in charts}
    title = f"{run.loop.name}: {run.night.name}"
    notes = ""
    if len(every) == 2:
        notes += f"<span>right: {clock(every[1].start_s)} to {clock(every[1].end_s)}</span>"
    if run.first_boil_s is not None:
        notes += "<span>shaded: after first boil, where nothing is a margin</span>"
    parts = [
        f"<header><h1>{escape(title)}</h1><span>rehearsed night, coilward "
        f"{escape(version('coilward'))}</span></header>",
        f'<p class="answer">{escape(answer)}</p>',
        f'<div class="top">{_verdict(verdict)}{_margins(run, system)}</div>',
        f'<h2><b>Phases</b>{notes}</h2><div class="chart" id="ribbon"></div>',
        *(_chart(chart, run, system) for chart in charts),
        f'<div class="below">{_events(run)}{_hardware(run)}</div>',
        f'<p class="cautions"><b>Take care.</b> {escape(" ".join(CAUTIONS))}</p>',
        f"<footer>Loop {loop_id(run.loop)}, logic {escape(run.logic or 'coilward')}, "
        f"seed {run.seed}, energy closed to "
        f"{100 * run.energy_closure:.4f} %. Show it again: <code>{escape(command)}</code></footer>",
    ]
    library = Resources(mode="inline", components=["bokeh"]).render_js()
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=760">\n'
        f"<title>{escape(title)}</title>\n<style>{CSS}</style>\n{library}\n</head>\n<body>\n"
        f'<main class="sheet">\n{"".join(parts)}\n</main>\n'
        f"<script>\n{_embed(items)}{fit('.sheet')}</script>\n</body>\n</html>\n"
    )


def _embed(items: dict[str, Any]) -> str:
    """The charts as data, with nothing in it that could end the script early."""
    placed: list[Any] = [json_item(item, key) for key, item in items.items()]  # type: ignore[arg-type]
    data = json.dumps(placed).replace("</", "<\\/")
    return f"for (const item of {data}) Bokeh.embed.embed_item(item);\n"


def _verdict(verdict: Verdict) -> str:
    reasons = [f"<li>{escape(reason.text)}</li>" for reason in verdict.reasons[:MOST_REASONS]]
    more = len(verdict.reasons) - MOST_REASONS
    if more > 0:
        reasons.append(f"<li>And {more} more, told on the console.</li>")
    listed = f"<ul>{''.join(reasons)}</ul>" if reasons else ""
    return (
        f'<div class="verdict"><svg viewBox="0 0 46 46" aria-hidden="true">{SHAPES[verdict.word]}'
        f"</svg><div><strong>{verdict.word.upper()}</strong>{listed}<p>{escape(ALWAYS)}</p></div>"
        "</div>"
    )


def _margins(run: Run, system: System) -> str:
    rows = "".join(
        f"<tr><td>{escape(label)}</td><td>{escape(text)}</td></tr>"
        for label, text in margins(run, system)
    )
    return f"<table>{rows}</table>"


def _chart(chart: Chart, run: Run, system: System) -> str:
    unit = convert(0.0, chart.unit, system)[1]
    legend = "".join(
        f"<span>{_sample(series.stroke)}{escape(series.words)}</span>"
        for series in shown(chart, run)
    )
    return (
        f"<h2><b>{chart.title}, {unit}</b>{legend}</h2>"
        f'<div class="chart" id="{chart.key}"></div>'
    )


def _sample(stroke: Stroke) -> str:
    """A short piece of the line, for the legend."""
    dash = f' stroke-dasharray="{" ".join(map(str, stroke.dash))}"' if stroke.dash else ""
    return (
        f'<svg width="26" height="6"><path d="M0 3h26" stroke="{stroke.colour}" '
        f'stroke-width="{stroke.width}"{dash}/></svg>'
    )


def _events(run: Run) -> str:
    kept, left_out = fitting(events(run))
    entries = []
    for event in kept:
        mark = f' <span class="mark">{event.letter}</span>' if event.letter else ""
        machine = f" <i>Machine:</i> {escape(event.machine)}" if event.machine else ""
        person = f" <i>You:</i> {escape(event.person)}" if event.person else ""
        entries.append(
            f"<li><time>{event.when}{mark}</time>{escape(words(event))}{machine}{person}</li>"
        )
    if left_out:
        entries.append(f"<li>And {left_out} more of less weight, all in the JSON.</li>")
    return f'<section class="events"><h2><b>Events</b></h2><ul>{"".join(entries)}</ul></section>'


def _hardware(run: Run) -> str:
    block = hardware(run)
    effects = dict.fromkeys(each.effect for each in block.fitted)
    groups = "".join(
        f"<p><b>{escape(effect.capitalize())}:</b></p><ul>"
        + "".join(
            f'<li class="{"yes" if each.counts else "no"}">{escape(each.words)}, '
            f"{escape(each.state)}</li>"
            for each in block.fitted
            if each.effect == effect
        )
        + "</ul>"
        for effect in effects
    )
    return (
        f'<section class="hardware"><h2><b>Passive hardware</b></h2><p>{escape(block.about)}</p>'
        f"{groups}<p><b>{escape(block.conclusion)}</b></p></section>"
    )
