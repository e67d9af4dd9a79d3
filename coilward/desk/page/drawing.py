"""The charts and the phase ribbon drawn with bokeh, over the night and close up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from bokeh.layouts import row as side_by_side
from bokeh.models import ColumnDataSource, FixedTicker, HoverTool, LinearAxis, Range1d
from bokeh.models.annotations import BoxAnnotation, Span
from bokeh.plotting import figure

from coilward.desk.page import palette as ink
from coilward.desk.page.charts import Chart, Limit, marks, shown
from coilward.desk.page.palette import PHASE_FILLS
from coilward.desk.page.thin import Numbers, thinned
from coilward.desk.page.window import Window, ticks
from coilward.desk.story import stays
from coilward.desk.times import clock
from coilward.loop.units import System, convert

if TYPE_CHECKING:
    from coilward.simulator.run import Run

WIDE_PX: Final = 718
LEFT_PX, RIGHT_PX, BARE_RIGHT_PX = 44, 92, 10
FONT: Final = "8pt"
LABEL_PX: Final = 12.5
LETTER_PX: Final = 6.0
STRETCHES: Final = 260


def drawn(chart: Chart, run: Run, every: Sequence[Window], system: System) -> Any:
    """The chart over each window, side by side."""
    low, high = _range(chart, run, system)
    figures = []
    for window, width_px, last in _columns(every):
        right_px = RIGHT_PX if last else BARE_RIGHT_PX
        fig = _figure(window, width_px, chart.height_px, right_px)
        fig.y_range = Range1d(start=low, end=high)
        fig.yaxis.ticker.desired_num_ticks = 5 if chart.height_px > 150 else 3
        if not chart.dated:
            fig.xaxis.major_label_text_font_size = "0px"
            fig.xaxis.major_label_standoff = 0
        source = _source(chart, run, window, system)
        lines = [
            fig.line(
                "time_s", series.trace, source=source, line_color=series.stroke.colour,
                line_width=series.stroke.width, line_dash=list(series.stroke.dash),
            )
            for series in shown(chart, run)
        ]  # fmt: skip
        for limit in chart.limits:
            fig.add_layout(_level(limit, chart.unit, system))
        if last:
            _name_limits(fig, chart, system, (low, high))
        frame_px = width_px - LEFT_PX - right_px
        _marks(fig, run, frame_px / (window.end_s - window.start_s))
        unit = convert(0.0, chart.unit, system)[1]
        tips = [("at", "@clock")]
        tips += [(each.words, f"@{each.trace}{{0.0}} {unit}") for each in shown(chart, run)]
        fig.add_tools(HoverTool(renderers=lines[:1], tooltips=tips, mode="vline"))
        figures.append(fig)
    return side_by_side(figures, spacing=0)


def ribbon(run: Run, every: Sequence[Window]) -> Any:
    """The phases as blocks with their names in them, or above where they are too short."""
    figures = []
    for window, width_px, last in _columns(every):
        right_px = RIGHT_PX if last else BARE_RIGHT_PX
        fig = _figure(window, width_px, 40, right_px)
        fig.y_range = Range1d(start=0, end=2)
        fig.yaxis.visible = False
        fig.xaxis.visible = False
        fig.outline_line_color = None
        fig.grid.visible = False
        frame_px = width_px - LEFT_PX - right_px
        span_s = window.end_s - window.start_s
        taken_px = -1e9
        for stay in stays(run):
            left_s = max(stay.time_s, window.start_s)
            right_s = min(stay.time_s + stay.lasted_s, window.end_s)
            if right_s <= left_s:
                continue
            fill = PHASE_FILLS[stay.phase]
            fig.quad(
                left=left_s, right=right_s, bottom=0.0, top=1.0, fill_color=fill.colour,
                line_color=ink.INK, line_width=0.6, hatch_pattern=fill.hatch,
                hatch_color=ink.FAINT, hatch_alpha=0.35, hatch_scale=6,
            )  # fmt: skip
            words_px = LETTER_PX * len(stay.phase)
            if (right_s - left_s) / span_s * frame_px >= words_px + 4:
                _write(fig, (left_s + right_s) / 2, 0.48, stay.phase, "center", fill.text)
                continue
            at_px = max((left_s - window.start_s) / span_s * frame_px, taken_px)
            if at_px + words_px <= frame_px + right_px - 4:
                at_s = window.start_s + at_px / frame_px * span_s
                _write(fig, at_s, 1.55, stay.phase, "left", ink.INK)
                taken_px = at_px + words_px + 8
        figures.append(fig)
    return side_by_side(figures, spacing=0)


def _columns(every: Sequence[Window]) -> list[tuple[Window, int, bool]]:
    if len(every) == 1:
        return [(every[0], WIDE_PX, True)]
    return [(every[0], 360, False), (every[1], WIDE_PX - 360, True)]


def _figure(window: Window, width_px: int, height_px: int, right_px: int) -> Any:
    frame_px = width_px - LEFT_PX - right_px
    named: Any = ticks(window, most=max(frame_px // 52, 2))
    fig = figure(
        width=width_px, height=height_px, min_border_left=LEFT_PX, min_border_right=right_px,
        min_border_top=4, min_border_bottom=4, toolbar_location=None, tools="",
        output_backend="svg", x_range=Range1d(start=window.start_s, end=window.end_s),
        outline_line_color=ink.RULE, background_fill_color=None, border_fill_color=None,
    )  # fmt: skip
    fig.xaxis.ticker = FixedTicker(ticks=list(named))
    fig.xaxis.major_label_overrides = named
    for axis in (fig.xaxis, fig.yaxis):
        axis.major_label_text_font_size = FONT
        axis.major_label_text_color = ink.INK
        axis.axis_line_color = ink.FAINT
        axis.major_tick_line_color = ink.FAINT
        axis.minor_tick_line_color = None
        axis.major_tick_in = 0
        axis.major_tick_out = 3
    fig.grid.grid_line_color = ink.RULE
    fig.grid.grid_line_alpha = 0.5
    return fig


def _source(chart: Chart, run: Run, window: Window, system: System) -> ColumnDataSource:
    names = [series.trace for series in shown(chart, run)]
    thin = thinned(run.trace, names, window.start_s, window.end_s, STRETCHES)
    columns: dict[str, Any] = {"time_s": thin["time_s"]}
    for name in names:
        columns[name] = _as_shown(_capped(thin[name], chart.top), chart.unit, system)
    columns["clock"] = [clock(at) for at in thin["time_s"]]
    return ColumnDataSource(columns)


def _capped(values: Numbers, top: float | None) -> Numbers:
    """No higher than the chart, so that an infinite minimum still shows as a line at its top."""
    return values if top is None else np.minimum(values, 10 * top)


def _as_shown(values: Numbers, unit: str, system: System) -> Numbers:
    zero, one = convert(0.0, unit, system)[0], convert(1.0, unit, system)[0]
    return zero + values * (one - zero)


def _range(chart: Chart, run: Run, system: System) -> tuple[float, float]:
    known = [run.trace[series.trace] for series in shown(chart, run)]
    finite = [values[np.isfinite(values)] for values in known]
    low = min((float(v.min()) for v in finite), default=0.0)
    high = max((float(v.max()) for v in finite), default=1.0)
    high = max([high, *(limit.value for limit in chart.limits)])
    low = (low - 3 if chart.unit == "c" else low) if chart.bottom is None else chart.bottom
    high = 1.08 * high if chart.top is None else chart.top
    return tuple(_as_shown(np.array([low, high]), chart.unit, system).tolist())


def _level(limit: Limit, unit: str, system: System) -> Span:
    return Span(
        location=convert(limit.value, unit, system)[0], dimension="width",
        line_color=limit.stroke.colour, line_width=limit.stroke.width,
        line_dash=list(limit.stroke.dash), level="underlay",
    )  # fmt: skip


def _name_limits(fig: Any, chart: Chart, system: System, edges: tuple[float, float]) -> None:
    """The names of the limits at the right edge, pushed apart where the lines are close."""
    low, high = edges
    least = LABEL_PX * (high - low) / (chart.height_px - (22 if chart.dated else 8))
    names: dict[Any, Any] = {}
    floor = -np.inf
    for limit in sorted(chart.limits, key=lambda each: each.value):
        value = convert(limit.value, chart.unit, system)[0]
        at = max(value, floor)
        names[at] = f"{limit.words} {value:.1f}"
        floor = at + least
    axis: Any = LinearAxis(axis_line_color=None)
    axis.ticker = FixedTicker(ticks=list(names))
    axis.major_label_overrides = names
    axis.major_label_text_font_size = FONT
    axis.major_label_text_color = ink.INK
    axis.major_tick_line_color = None
    axis.minor_tick_line_color = None
    fig.add_layout(axis, "right")


def _marks(fig: Any, run: Run, px_per_s: float) -> None:
    taken_px = -1e9
    for letter, at_s in marks(run):
        if not fig.x_range.start <= at_s <= fig.x_range.end:
            continue
        fig.add_layout(
            Span(location=at_s, dimension="height", line_color=ink.FAINT, line_width=1,
                 line_dash=[2, 4])
        )  # fmt: skip
        top = fig.y_range.end - 0.02 * (fig.y_range.end - fig.y_range.start)
        at_px = max(at_s * px_per_s, taken_px)
        taken_px = at_px + 9
        _write(
            fig, at_px / px_per_s, top, letter, "left", ink.INK,
            baseline="top", style="bold", right_px=3,
        )  # fmt: skip
    if run.first_boil_s is not None:
        fig.add_layout(
            BoxAnnotation(left=run.first_boil_s, fill_color=ink.SLATE, fill_alpha=0.22,
                          line_color=None, level="underlay")
        )  # fmt: skip


def _write(
    fig: Any, at_s: float, height: float, words: str, align: str, colour: str,
    baseline: str = "middle", style: str = "normal", right_px: int = 0,
) -> None:  # fmt: skip
    fig.text(
        x=[at_s], y=[height], text=[words], text_align=align, text_baseline=baseline,
        text_color=colour, text_font_size=FONT, text_font_style=style,
        x_offset=right_px,
    )  # fmt: skip
