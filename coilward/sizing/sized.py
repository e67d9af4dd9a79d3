"""A loop with all its sums."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from coilward.loop.derived import Derived, derive
from coilward.loop.model import Loop
from coilward.loop.units import System
from coilward.sizing.heat import heat_rows, wood_rows
from coilward.sizing.limits import flow_rows, limit_rows
from coilward.sizing.maps import Maps, maps
from coilward.sizing.margins import Margins, margins
from coilward.sizing.outdoors import frost_rows, water_rows
from coilward.sizing.remarks import remarks
from coilward.sizing.remedies import Judge, Remedy, remedies
from coilward.sizing.row import Row
from coilward.sizing.sensitivity import Effect, effects
from coilward.sizing.settling import State, settling_rows, states
from coilward.sizing.shedding import shedding_rows
from coilward.sizing.supply import Wire, supply_rows, wires

CHAPTERS = (
    heat_rows, settling_rows, flow_rows, limit_rows, shedding_rows, frost_rows, water_rows,
    supply_rows, wood_rows,
)  # fmt: skip


@dataclass(frozen=True)
class Sized:
    """Everything that is told of one loop."""

    loop: Loop
    derived: Derived
    system: System
    rows: tuple[Row, ...]
    states: tuple[State, ...]
    margins: Margins
    maps: Maps
    wires: tuple[Wire, ...]
    effects: tuple[Effect, ...]
    remedies: tuple[Remedy, ...]
    remarks: tuple[str, ...]


def size(loop: Loop, today: date, system: System, judge: Judge) -> Sized:
    """All the sums of a loop; ``judge`` tells what is against one."""
    derived = derive(loop, today)
    return Sized(
        loop, derived, system,
        tuple(row for chapter in CHAPTERS for row in chapter(loop, derived, system)),
        states(loop, derived), margins(loop, derived), maps(loop, derived),
        wires(loop, derived, system), effects(loop, today), remedies(loop, today, judge),
        remarks(loop, derived, system),
    )  # fmt: skip
