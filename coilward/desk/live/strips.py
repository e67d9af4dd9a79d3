"""The strip charts, without data: what each shows, its limits, and how lines are told apart."""

from __future__ import annotations

import json
from html import escape
from typing import Any, Final, NamedTuple

from bokeh.embed import json_item
from bokeh.layouts import column
from bokeh.models import (
    AdaptiveTicker,
    ColumnDataSource,
    NumeralTickFormatter,
    Range1d,
)
from bokeh.models.annotations import Label, Span
from bokeh.plotting import figure

from coilward.desk.live.source import Place
from coilward.desk.live.strip import SIGNALS
from coilward.loop.units import convert

LOOKS: Final = ("dark", "light")
LEFT_PX: Final = 52
FONT: Final = "13px"


class Line(NamedTuple):
    """One signal: its words, its number in the look's colours, its dash."""

    signal: str
    words: str
    colour: int
    dash: tuple[int, ...] = ()
    fitted: str = ""


class Strip(NamedTuple):
    """One chart."""

    key: str
    title: str
    unit: str
    height_px: int
    lines: tuple[Line, ...]
    bottom: float | None = None
    top: float | None = None


COLOURS: Final[dict[str, tuple[str, ...]]] = {
    "dark": (
        "#ffb454", "#7fd6c9", "#8fc7ff", "#ff9a8b", "#d9c7ff", "#c8e08a", "#f2efe9", "#a9b4bd",
    ),
    "light": (
        "#9a4a00", "#0b6b62", "#1f5f9e", "#a82a17", "#5b3f9e", "#4c6410", "#16202c", "#56616c",
    ),
}  # fmt: skip
INK: Final = {"dark": "#f2efe9", "light": "#16202c"}
RULE: Final = {"dark": "#3a4650", "light": "#c3c8cc"}
TRIP: Final = {"dark": "#ff9a8b", "light": "#a82a17"}

STRIPS: Final[tuple[Strip, ...]] = (
    Strip("water", "Water", "c", 250, (
        Line("outlet_a_c", "coil outlet A", 0), Line("outlet_b_c", "coil outlet B", 0, (2, 3),
                                                    "outlet_b"),
        Line("tank_c", "tank", 2),
        Line("radiator_inlet_c", "radiator in", 1, (8, 3), "radiator_inlet"),
        Line("radiator_outlet_c", "radiator out", 1, (2, 4), "radiator_outlet"),
        Line("room_c", "room", 7, (1, 4), "room"),
        Line("line_c", "coldest line", 4, (10, 3, 2, 3), "line"),
    )),
    Strip("fire", "Fire", "c", 120, (
        Line("flue_c", "flue", 3, (8, 3), "flue"), Line("metal_c", "coil metal", 0, (), "metal"),
    )),
    Strip("flow", "Flow", "lpm", 120, (
        Line("flow_lpm", "flow", 2), Line("min_lpm", "least of the moment", 3, (6, 3)),
    ), bottom=0.0),
    Strip("heat", "Heat", "w", 110, (Line("heat_w", "into the water", 0),), bottom=0.0),
    Strip("told", "Valve and fans", "", 90, (
        Line("valve", "valve", 2), Line("fans", "fans", 1, (2, 3)),
    ), bottom=-0.05, top=1.05),
    Strip("supply", "Supply", "v", 90, (Line("supply_v", "supply", 5),)),
)  # fmt: skip
"""Fifteen signals in six charts."""


def shown(strip: Strip, place: Place) -> list[Line]:
    """The lines for which something is fitted."""
    fitted = place.constants.fitted
    return [line for line in strip.lines if not line.fitted or getattr(fitted, line.fitted)]


def levels(strip: Strip, place: Place) -> list[tuple[str, float]]:
    """The trips and limits that are drawn in a chart."""
    limits = place.constants.limits
    if strip.key == "water":
        return [
            ("boiling", limits.boil_c), ("outlet trip", limits.outlet_dump_c),
            ("tank trip", limits.tank_trip_c),
        ]  # fmt: skip
    if strip.key == "heat":
        return [("largest fire", place.constants.water.heat_largest_w)]
    return []


def unit_words(strip: Strip, place: Place) -> str:
    """The unit along a chart's side."""
    return convert(0.0, strip.unit, place.system)[1] if strip.unit else "share"


def strips(place: Place, look: str) -> str:
    """The charts as JSON for the chart library; data come later, into the source "signals"."""
    source = ColumnDataSource({name: [] for name in ("time_s", *SIGNALS)}, name="signals")
    trips = ColumnDataSource({"time_s": [], "words": []}, name="trips")
    x_range = Range1d(start=0.0, end=600.0, name="span")
    charts = [
        _chart(strip, place, look, source, trips, x_range)
        for strip in STRIPS if shown(strip, place)
    ]  # fmt: skip
    return json.dumps(json_item(column(charts, sizing_mode="stretch_width"), "strips"))  # type: ignore[arg-type]


def _chart(
    strip: Strip, place: Place, look: str, source: ColumnDataSource, trips: ColumnDataSource,
    x_range: Range1d,
) -> Any:  # fmt: skip
    fig = figure(
        height=strip.height_px, sizing_mode="stretch_width", x_range=x_range,
        min_border_left=LEFT_PX, min_border_right=12, min_border_top=4,
        toolbar_location=None, output_backend="canvas",
        tools="xpan,xwheel_zoom", active_drag="xpan", active_scroll=None,
        background_fill_color=None, border_fill_color=None, outline_line_color=RULE[look],
    )  # fmt: skip
    _scales(fig, strip, place, look)
    fig.vspan(x="time_s", source=trips, line_color=TRIP[look], line_width=1.5, line_dash=[4, 3])
    for line in shown(strip, place):
        fig.line(
            "time_s", line.signal, source=source, line_color=COLOURS[look][line.colour],
            line_width=2.0, line_dash=list(line.dash),
        )
    for words, value in levels(strip, place):
        at = convert(value, strip.unit, place.system)[0]
        fig.add_layout(Span(location=at, dimension="width", line_color=INK[look], line_width=1.2,
                            line_dash=[10, 4]))  # fmt: skip
        fig.add_layout(Label(x=4, x_units="screen", y=at, text=words, text_font_size=FONT,
                             text_color=INK[look], y_offset=1))  # fmt: skip
    return fig


def _scales(fig: Any, strip: Strip, place: Place, look: str) -> None:
    zero, one = convert(0.0, strip.unit, place.system)[0], convert(1.0, strip.unit, place.system)[0]
    if strip.top is not None and strip.bottom is not None:
        fig.y_range = Range1d(start=strip.bottom, end=strip.top)
    elif strip.key == "water":
        limits = place.constants.limits
        fig.y_range = Range1d(start=zero, end=zero + (limits.boil_c + 6.0) * (one - zero))
    elif strip.key == "supply":
        volts = place.constants.power.rated_v
        fig.y_range = Range1d(start=0.8 * volts, end=1.25 * volts)
    elif strip.bottom is not None:
        fig.y_range.start = strip.bottom
    for axis in (fig.xaxis, fig.yaxis):
        axis.major_label_text_font_size = FONT
        axis.major_label_text_color = INK[look]
        axis.axis_line_color = RULE[look]
        axis.major_tick_line_color = RULE[look]
        axis.minor_tick_line_color = None
    fig.xaxis.ticker = AdaptiveTicker(base=60, mantissas=[1, 2, 5, 10, 15, 30], min_interval=10,
                                      num_minor_ticks=0, desired_num_ticks=4)  # fmt: skip
    fig.xaxis.formatter = NumeralTickFormatter(format="00:00:00")
    fig.xaxis.visible = strip is STRIPS[-1]
    fig.title.text = f"{strip.title}, {unit_words(strip, place)}"
    fig.title.text_color = INK[look]
    fig.title.text_font_size = FONT
    fig.yaxis.ticker.desired_num_ticks = 5 if strip.height_px > 150 else 3
    fig.xgrid.grid_line_color = RULE[look]
    fig.ygrid.grid_line_color = RULE[look]
    fig.xgrid.grid_line_alpha = fig.ygrid.grid_line_alpha = 0.6


def legend(place: Place) -> str:
    """What each line is, as text beside a piece of the line: HTML, one list a chart."""
    parts = []
    for strip in STRIPS:
        lines = "".join(
            f'<li><svg viewBox="0 0 34 8" aria-hidden="true"><path class="ink{line.colour}" '
            f'd="M0 4h34" stroke-dasharray="{" ".join(map(str, line.dash))}"/></svg>'
            f"{escape(line.words)}</li>"
            for line in shown(strip, place)
        )
        if lines:
            parts.append(f"<p>{escape(strip.title)}</p><ul>{lines}</ul>")
    return "".join(parts)
