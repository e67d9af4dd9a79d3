"""The page of a log: fit against log, what is left over, the heat, and the numbers."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

import numpy as np

from coilward.desk.learn import ABOUT_METER, best_test, interval, largest, sentence, spelled
from coilward.desk.page import palette as ink
from coilward.desk.page.lines import Drawn, picture
from coilward.desk.page.palette import Stroke
from coilward.desk.page.paper import drawing, paper, table
from coilward.desk.page.style import fit
from coilward.desk.page.thin import Numbers
from coilward.learning.log import CHANNELS
from coilward.learning.stretches import ROW_S
from coilward.loop.document import loop_id
from coilward.loop.units import System, convert, show

if TYPE_CHECKING:
    from coilward.desk.learn import Answer
    from coilward.learning.learned import Learned

INKS: Final = {
    "coil_outlet": ink.EMBER, "radiator_inlet": ink.AMBER, "radiator_outlet": ink.SKY,
    "tank": ink.NAVY,
}  # fmt: skip
SMOOTH_ROWS: Final = 61
MEAN_S: Final = 120.0
CSS: Final = """
table.numbers td, table.changes td, table.effects td { padding-top: 1px; padding-bottom: 1px;
  font-size: 10px; }
h2 { margin: 6px 0 2px; }
.two { display: grid; grid-template-columns: 1fr 1fr; gap: 16px; }
.two p { margin: 1px 0; }
@media print { .sheet { zoom: var(--upright, 1); } .sheet * { zoom: 1; } }
"""


def learn_page(answer: Answer, system: System) -> str:
    """The page as one HTML text, for one side of paper."""
    learned = answer.learned
    shapes = [
        drawing(_fit(learned, system)), drawing(_left(learned, system)),
        drawing(_heat(learned, system)),
    ]  # fmt: skip
    stops = "".join(f"<p><b>Stop:</b> {escape(text)}</p>" for text in answer.against)
    html = paper(
        f"{learned.loop.name}: learned from {learned.log.file.rsplit('/', 1)[-1]}",
        "numbers from a logged run",
        [
            f'<p class="answer">{escape(sentence(answer))}</p>{stops}', *shapes,
            _numbers(answer, system),
            f'<div class="two"><div>{_changes(answer)}</div><div>{_verdict(answer, system)}</div>'
            "</div>",
            f"<p><b>The twenty minutes that would tell most.</b> {escape(best_test(answer))}</p>",
            f"<p>{escape(largest(learned, system))} {escape(ABOUT_METER)}</p>",
        ],
        f"Loop {loop_id(learned.loop)}. Intervals are 95 %. A number from one log holds for the "
        "loop as it was then.",
        CSS,
    )
    return html.replace("</body>", f"<script>{fit('.sheet')}</script></body>")


def _over_time(learned: Learned, name: str) -> tuple[Numbers, Numbers]:
    """What the plant would show at every second, NaN in the gaps."""
    count = int(learned.log.time_s[-1] / ROW_S) + 1
    values = np.full(count, np.nan)
    for number, stretch in enumerate(learned.plant.stretches):
        first = round(stretch.start_s / ROW_S)
        shown = learned.plant.shown(learned.fit.values, number)[name]
        values[first : first + stretch.rows] = shown[: count - first]
    return ROW_S * np.arange(count, dtype=np.float64), values


def _as_shown(values: Numbers, unit: str, system: System) -> Numbers:
    zero, one = convert(0.0, unit, system)[0], convert(1.0, unit, system)[0]
    return np.asarray(zero + values * (one - zero))


def _fit(learned: Learned, system: System) -> str:
    log = learned.log
    lines = [
        Drawn(CHANNELS[name].words.split(",")[0], log.time_s,
              _as_shown(log.columns[name], "c", system), Stroke(INKS[name], 2.4))
        for name in ("coil_outlet", *learned.plant.seen)
    ]  # fmt: skip
    for name in learned.plant.seen:
        time_s, values = _over_time(learned, name)
        words = "what the plant would show" if name == learned.plant.seen[0] else ""
        lines.append(Drawn(words, time_s, _as_shown(values, "c", system),
                           Stroke(ink.INK, 0.8, (4, 2))))  # fmt: skip
    return picture(f"Log and fit, {convert(0.0, 'c', system)[1]}", lines, 190)


def _left(learned: Learned, system: System) -> str:
    lines = []
    for name, left in zip(learned.plant.seen, learned.fit.residuals, strict=True):
        at_s = learned.plant.times_s(name)
        words, values = CHANNELS[name].words.split(",")[0], _mean(at_s, left)
        lines.append(Drawn(words, at_s, _as_shown(values, "k", system), Stroke(INKS[name], 1.3)))
    unit = convert(0.0, "k", system)[1]
    return picture(f"Log less plant, mean of two minutes, {unit}", lines, 92, zero=True)


def _heat(learned: Learned, system: System) -> str:
    heat = learned.heat
    kinds = (
        ("coil to water", heat.water_w, Stroke(ink.EMBER, 2.0)),
        ("radiator and dump", heat.radiator_w, Stroke(ink.SKY, 1.4)),
        ("into the tank", heat.tank_w, Stroke(ink.NAVY, 1.2, (6, 3))),
        ("hot leg", heat.hot_leg_w, Stroke(ink.SLATE, 1.2, (2, 2))),
        ("not accounted for", heat.water_w - heat.radiator_w - heat.tank_w - heat.hot_leg_w
         - heat.cold_leg_w, Stroke(ink.INK, 1.0)),
    )  # fmt: skip
    lines = [
        Drawn(words, heat.time_s, _as_shown(_smooth(values), "w", system), stroke)
        for words, values, stroke in kinds
        if np.isfinite(values).any()
    ]
    return picture(f"Heat, {convert(0.0, 'w', system)[1]}", lines, 150, zero=True)


def _mean(time_s: Numbers, values: Numbers) -> Numbers:
    """Mean over two minutes at each of its rows."""
    _, block = np.unique((time_s / MEAN_S).astype(int), return_inverse=True)
    return np.asarray((np.bincount(block, values) / np.bincount(block))[block])


def _smooth(values: Numbers) -> Numbers:
    """Mean over a minute."""
    return np.asarray(np.convolve(values, np.full(SMOOTH_ROWS, 1.0 / SMOOTH_ROWS), "same"))


def _numbers(answer: Answer, system: System) -> str:
    heads = [
        ("number", 214, False), ("learned", 84, True), ("95 % interval", 110, True),
        ("loop file", 76, True), ("", 234, False),
    ]  # fmt: skip
    changed = {change.key for change in answer.changes}
    rows = []
    for each in answer.learned.numbers:
        file = spelled(each.guess, each.sd if each.sd > 0 else 0.1, each.unit, system)
        if each.told:
            note = "differs from the file" if each.key in changed else ""
            rows.append([escape(each.words), f"<b>{spelled(each.value, each.sd, each.unit, system)}"
                         "</b>", interval(each, system), file, note])  # fmt: skip
        else:
            rows.append([escape(each.words), "not told", "", file, escape(each.why)])
    return "<h2>Numbers</h2>" + table(heads, rows, "numbers")


def _changes(answer: Answer) -> str:
    heads = [("would change in the loop file", 180, False), ("was", 80, True), ("now", 90, True)]
    rows = [[f"<code>{escape(each.key)}</code>", escape(each.was), f"<b>{escape(each.now)}</b>"]
            for each in answer.changes]  # fmt: skip
    return table(heads, rows or [["nothing", "", ""]], "changes")


def _verdict(answer: Answer, system: System) -> str:
    heads = [("what that changes", 190, False), ("before", 70, True), ("after", 80, True)]
    rows = [[escape(row.words), show(row.before, row.unit, system),
             f"<b>{show(row.after, row.unit, system)}</b>"] for row in answer.verdict]  # fmt: skip
    return table(heads, rows, "effects")
