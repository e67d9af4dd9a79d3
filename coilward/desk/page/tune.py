"""The page of a tuning: before and after in pictures, on one side of paper."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from coilward.desk.page.palette import EMBER, NAVY, SLATE, Stroke
from coilward.desk.page.panel import Level, Line, Panel, panel
from coilward.desk.page.paper import paper, table
from coilward.desk.page.style import fit
from coilward.desk.tuning import (
    LIMITS_SAID,
    PROMISES,
    compared,
    corner_said,
    headline,
    heats_said,
    promised,
    section,
)
from coilward.loop.document import loop_id
from coilward.loop.units import System, convert, show
from coilward.tuning.checks import MOST_SENSITIVE
from coilward.tuning.margins import answer_to
from coilward.tuning.working import rule_at

if TYPE_CHECKING:
    from coilward.tuning.tuning import Judged, Tuned
    from coilward.tuning.working import Answer

Numbers = NDArray[np.float64]

BEFORE: Final = Stroke(SLATE, 1.6, (5, 3))
AFTER: Final = Stroke(NAVY, 2.0)
CORNER: Final = Stroke(EMBER, 1.3, (2, 3))
WIDE: Final = 236.0
CSS: Final = """
.three { display: flex; gap: 5px; margin: 2px 0; }
.keys { font-family: "DejaVu Sans Mono", Consolas, monospace; font-size: 9.5px; margin: 2px 0; }
.legend svg { vertical-align: middle; }
.legend span { margin-right: 14px; }
.two { display: grid; grid-template-columns: 1fr 1fr; gap: 14px; }
.two li { padding: 0; } .two ul { margin: 2px 0; padding-left: 14px; }
.sheet h2 { margin: 5px 0 2px; }
@media print { .sheet { zoom: var(--upright, 1); } .sheet * { zoom: 1; } }
"""


def tune_page(tuned: Tuned, command: str, system: System) -> str:
    """The page as one HTML text."""
    sides = [(tuned.present, BEFORE)]
    if tuned.proposed:
        sides.append((tuned.proposed, AFTER))
    heads = [("", 250, False), ("present", 220, False), ("proposed", 220, False)]
    rows = [[escape(each) for each in row] for row in compared(tuned, system)]
    settings = ""
    if tuned.proposed:
        written = "<br>".join(map(escape, section(tuned.proposed.settings)))
        settings = f'<h2>To be written in the loop file</h2><p class="keys">{written}</p>'
    kept = "".join(
        f"<li>{'' if check.held else '<b>BROKEN</b> '}{escape(PROMISES[check.key])}: "
        f"{escape(promised(check, system))}</li>"
        for check in tuned.checks
    )
    notes = "".join(f"<li>{escape(each)}</li>" for each in LIMITS_SAID)
    parts = [
        f'<p class="answer">{escape(headline(tuned))}</p>',
        _legend(),
        "<h2>A surge of heat: 30 % more within a minute</h2>",
        f'<div class="three">{"".join(_surges(tuned, sides, system))}</div>',
        "<h2>A step of the heat by a tenth, as the moves of the valve answer it</h2>",
        f'<div class="three">{"".join(_steps(tuned, sides, system))}</div>',
        "<h2>Robustness over the flow</h2>",
        f'<div class="three">{_robustness(tuned, sides, system)}</div>',
        table(heads, rows),
        f"<p>{escape(heats_said(tuned.present.trials, system))} "
        f"{escape(corner_said(tuned.proposed or tuned.present))}</p>",
        f'<div class="two"><section><h2>Promises</h2><ul>{kept}</ul></section>'
        f"<section>{settings}<h2>What this can't show</h2><ul>{notes}</ul></section></div>",
    ]
    footer = (
        f"Loop {loop_id(tuned.loop)}, seed {tuned.seed}. Show it again: "
        f"<code>{escape(command)}</code><script>{fit('.sheet')}</script>"
    )
    return paper(f"{tuned.loop.name}: settings of the valve", "tuning", parts, footer, CSS)


def _legend() -> str:
    named = (("present", BEFORE), ("proposed", AFTER), ("proposed, worst corner", CORNER))
    return '<p class="legend">' + "".join(
        f'<span><svg width="26" height="6"><path d="M0 3h26" stroke="{stroke.colour}" '
        f'stroke-width="{stroke.width}" stroke-dasharray="{" ".join(map(str, stroke.dash))}"/>'
        f"</svg> {words}</span>"
        for words, stroke in named
    ) + "</p>"


def _as_shown(values: Numbers, unit: str, system: System) -> Numbers:
    zero, one = convert(0.0, unit, system)[0], convert(1.0, unit, system)[0]
    return zero + values * (one - zero)


def _surges(tuned: Tuned, sides: list[tuple[Judged, Stroke]], system: System) -> list[str]:
    unit = convert(0.0, "c", system)[1]
    trip_c, set_c = tuned.derived.outlet_dump_c, tuned.derived.set_point_c
    coolest_c = min(float(t.outlet_c.min()) for side, _ in sides for t in side.trials)
    edges_c = np.array([min(coolest_c, set_c) - 2.0, trip_c + 2.0])
    low, top = _as_shown(edges_c, "c", system)
    levels = [
        Level(convert(trip_c, "c", system)[0], "dump trip"),
        Level(convert(set_c, "c", system)[0], "set-point"),
    ]
    found = []
    for number, trial in enumerate(tuned.present.trials):
        lines = [
            Line(
                side.trials[number].time_s / 60.0,
                _as_shown(side.trials[number].outlet_c, "c", system), stroke,
            )
            for side, stroke in sides
        ]  # fmt: skip
        title = f"{unit} at the outlet, from {show(trial.heat_w, 'w', system)}"
        found.append(panel(Panel(title, "min", lines, levels), WIDE, 150, (low, top)))
    return found


def _steps(tuned: Tuned, sides: list[tuple[Judged, Stroke]], system: System) -> list[str]:
    unit = convert(0.0, "k", system)[1]
    answers = tuned.measured.answers
    found = []
    for answered in (answers[0], answers[len(answers) // 2], answers[-1]):
        lines = [
            Line(*_stepped(answered, side, tuned, system), stroke) for side, stroke in sides
        ]
        low = min(float(line.y.min()) for line in lines)
        top = max(float(line.y.max()) for line in lines)
        title = f"{unit} at {show(answered.place.flow_lpm, 'lpm', system)}"
        found.append(panel(Panel(title, "min", lines), WIDE, 105, (min(low, 0.0), 1.05 * top)))
    return found


def _stepped(
    answered: Answer, side: Judged, tuned: Tuned, system: System
) -> tuple[Numbers, Numbers]:
    rhythm_s = tuned.constants.throttling.every_s
    moves = round(900.0 / rhythm_s)
    share = np.concatenate((answered.step, np.full(moves, answered.step[-1])))[:moves]
    heated_k = 0.1 * answered.rise_k * share / share[-1]
    rule = rule_at(answered, side.settings, tuned.constants)
    error_k = answer_to(heated_k, answered.step, rhythm_s, rule)
    time_min: Numbers = rhythm_s / 60.0 * np.arange(moves, dtype=np.float64)
    return time_min, error_k * convert(1.0, "k", system)[0]


def _robustness(tuned: Tuned, sides: list[tuple[Judged, Stroke]], system: System) -> str:
    answers = tuned.measured.answers
    flows = sorted({each.place.flow_lpm for each in answers})

    def worst(margins: list[float]) -> Numbers:
        return np.array(
            [
                max(m for m, a in zip(margins, answers, strict=True) if a.place.flow_lpm == flow)
                for flow in flows
            ]
        )

    shown = _as_shown(np.array(flows), "lpm", system)
    lines = [
        Line(shown, worst([m.sensitivity for m in side.margins]), stroke, dots=True)
        for side, stroke in sides
    ]
    if tuned.proposed:
        cornered = worst([m.sensitivity for m in tuned.proposed.cornered])
        lines.append(Line(shown, cornered, CORNER, dots=True))
    top = max(2.0, *(1.05 * float(line.y.max()) for line in lines))
    unit = convert(0.0, "lpm", system)[1]
    limit = Level(MOST_SENSITIVE, f"at most {MOST_SENSITIVE:g}")
    title = "Ms, the most at any heat (1 is best, large swings)"
    return panel(Panel(title, f"flow, {unit}", lines, [limit]), 718, 110, (1.0, top))
