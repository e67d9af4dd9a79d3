"""What each chart of the page shows: its lines, its limits, and how they are told apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from coilward.desk.page import palette as ink
from coilward.desk.page.palette import Stroke

if TYPE_CHECKING:
    from coilward.simulator.run import Run


@dataclass(frozen=True)
class Series:
    """One line of a chart: which trace, what it is called, how it is drawn."""

    trace: str
    words: str
    stroke: Stroke


@dataclass(frozen=True)
class Limit:
    """A level line with its name at the right edge."""

    words: str
    value: float
    stroke: Stroke


@dataclass(frozen=True)
class Chart:
    """What one chart shows, in the units that a person asked for."""

    key: str
    title: str
    unit: str
    """Unit word of our attribute names."""
    height_px: int
    series: tuple[Series, ...]
    limits: tuple[Limit, ...] = ()
    bottom: float | None = None
    top: float | None = None
    dated: bool = False
    """True for the lowest chart, which alone carries the times."""


def temperatures(run: Run) -> Chart:
    """Outlet as it is and as it is seen, coil water, wall, tank and room, with the limits."""
    derived = run.derived
    return Chart(
        "temperatures", "Temperatures", "c", 204,
        (
            Series("coil_outlet_true_c", "coil outlet", Stroke(ink.NAVY, 2.0)),
            Series("coil_outlet_seen_c", "outlet as seen", Stroke(ink.TEAL, 1.6, (2, 2))),
            Series("coil_water_max_c", "hottest coil water", Stroke(ink.EMBER, 1.6)),
            Series("coil_wall_max_c", "coil wall", Stroke(ink.AMBER, 1.3, (6, 3))),
            Series("tank_top_c", "tank", Stroke(ink.SKY, 1.6, (9, 3, 2, 3))),
            Series("room_c", "room", Stroke(ink.SLATE, 1.3, (1, 3))),
        ),
        (
            Limit("boiling", derived.coil_boil_c, Stroke(ink.INK, 2.0)),
            Limit("high-high", derived.outlet_hh_c, Stroke(ink.INK, 1.0, (8, 3))),
            Limit("allowed", derived.allow_c, Stroke(ink.INK, 1.0, (3, 3))),
            Limit("dump", derived.outlet_dump_c, Stroke(ink.INK, 1.0, (8, 3, 2, 3))),
        ),
        top=derived.coil_boil_c + 14,
    )  # fmt: skip


def flows(run: Run) -> Chart:
    """The true flow and the meter's, against the minimum of the moment."""
    return Chart(
        "flow", "Flow", "lpm", 86,
        (
            Series("flow_true_lpm", "flow", Stroke(ink.NAVY, 2.0)),
            Series("flow_seen_lpm", "as the meter sees it", Stroke(ink.TEAL, 1.6, (2, 2))),
            Series("flow_min_lpm", "minimum of the moment", Stroke(ink.EMBER, 1.6, (6, 3))),
        ),
        (Limit("valve open", run.derived.flow_open_lpm, Stroke(ink.INK, 1.0, (3, 3))),),
        bottom=0.0, top=1.15 * run.derived.flow_open_lpm,
    )  # fmt: skip


def heats(run: Run) -> Chart:
    """Heat from the fire, and where it goes."""
    return Chart(
        "heat", "Heat in and out", "w", 112,
        (
            Series("heat_fire_w", "fire into the coil", Stroke(ink.EMBER, 2.0)),
            Series("heat_water_w", "carried by the water", Stroke(ink.NAVY, 1.6)),
            Series("heat_room_w", "into the room", Stroke(ink.TEAL, 1.6, (6, 3))),
            Series("heat_dump_w", "dump", Stroke(ink.AMBER, 1.6, (9, 3, 2, 3))),
            Series("heat_loss_w", "losses", Stroke(ink.SLATE, 1.3, (1, 3))),
        ),
        (Limit("largest fire", 1000 * run.loop.fire.largest_kw, Stroke(ink.INK, 1.0, (3, 3))),),
        bottom=0.0, dated=True,
    )  # fmt: skip


def shown(chart: Chart, run: Run) -> list[Series]:
    """The series that the loop has: one that was never known, or a dump never used, is left out."""
    known = []
    for series in chart.series:
        values = run.trace[series.trace]
        if np.isfinite(values).any() and not (series.words == "dump" and not values.any()):
            known.append(series)
    return known


def marks(run: Run) -> list[tuple[str, float]]:
    """Letters for the scripted faults and for the first boil, as drawn in the charts."""
    times = [moment.at_s for moment in run.night.moment if moment.do == "fault"]
    if run.first_boil_s is not None:
        times.append(run.first_boil_s)
    return [(chr(ord("a") + index), at_s) for index, at_s in enumerate(sorted(times)[:26])]
