"""Alarms in the states of ISA-18.2-2016, the first-out kept and consequences suppressed.

Acknowledging is silencing: the one act that a person has on the page. Interlocks can't be
shelved, so that state is empty by design. The memory of what was acknowledged is this file's
alone; the logic neither reads it nor needs it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from coilward.controller.interlocks import ROWS, Row, bit
from coilward.controller.phases import DRY, NO_FLOW
from coilward.desk.live.source import Place
from coilward.desk.story import LOCKED
from coilward.hil.tick import Tick

State = Literal[
    "normal", "unacknowledged", "acknowledged", "returned-unacknowledged", "latched", "shelved",
    "suppressed by design", "out of service",
]
STATES: Final[dict[State, str]] = {
    "normal": "quiet",
    "unacknowledged": "new",
    "acknowledged": "seen",
    "returned-unacknowledged": "gone, not seen yet",
    "latched": "gone, waits for a person at the board",
    "shelved": "never: an interlock can't be put aside",
    "suppressed by design": "follows from another alarm",
    "out of service": "nothing fitted that could tell",
}
"""Each state with the words that the page has for it."""

QUIET_TIERS: Final = ("instruments", "comfort", "freeze")
FOLLOWS_STILL_WATER: Final = sum(bit(name) for name in ("C07", "C18", "C20", "C43", "C46"))
"""What flow or its heat can't help doing while the water stands."""
FOLLOWS_DRY: Final = FOLLOWS_STILL_WATER | bit("C01") | bit("C02") | bit("C09")
"""What led to the dry lock-out, or comes of it: its own rows say it better."""
FITTED: Final[dict[str, str]] = {
    "C02": "current", "C09": "metal", "C10": "metal", "C21": "fan_current", "C22": "fan_current",
    "C23": "level", "C24": "level", "C25": "vent", "C26": "line", "C27": "co", "C28": "smoke",
    "C35": "damper_switch", "C39": "radiator_outlet", "C45": "co",
}
"""Rows that nothing can raise without this channel."""


@dataclass(frozen=True)
class Told:
    """One row that has something to say."""

    row: int
    """Index in the table."""
    since_s: float
    acknowledged: bool
    present: bool
    latched: bool
    first_out: bool
    suppressed: bool

    @property
    def state(self) -> State:
        """The one word of the standard that fits."""
        if self.suppressed:
            return "suppressed by design"
        if self.present:
            return "acknowledged" if self.acknowledged else "unacknowledged"
        return "latched" if self.latched else "returned-unacknowledged"


@dataclass(frozen=True)
class Panel:
    """All rows that are not quiet, with what is remembered of the trouble."""

    told: tuple[Told, ...] = ()
    first_out: int = -1
    """Row that began the present or the last trouble; kept until all is seen and gone."""
    first_s: float = 0.0
    """When it did: it may have come again since."""


def followed(panel: Panel, tick: Tick) -> Panel:
    """The panel after one more tick. Every tick has to pass, or a short silence is missed."""
    mode, raised = tick.state.mode, tick.state.raised
    if not (panel.told or raised or mode.latched):
        return panel if panel.first_out < 0 else Panel()
    time_s, known = tick.readings.time_s, {each.row: each for each in panel.told}
    first_out, first_s = panel.first_out, panel.first_s
    if mode.first_out >= 0 and mode.first_out != first_out:
        first_out, first_s = mode.first_out, time_s
    told = []
    for index in range(len(ROWS)):
        present, latched = bool(raised >> index & 1), bool(mode.latched >> index & 1)
        was = known.get(index)
        if was is None and not (present or latched):
            continue
        if was is None or (present and not was.present):
            # What comes again is a new alarm, also where the old one still waits for a reset.
            was = Told(index, time_s, False, present, latched, False, False)
        seen = was.acknowledged or tick.requests.silence
        if present or latched or not seen:
            told.append(replace(
                was, acknowledged=seen, present=present, latched=latched,
                first_out=index == first_out, suppressed=_follows(index, tick),
            ))  # fmt: skip
    if not told:
        return Panel()
    return Panel(tuple(sorted(told, key=_order)), first_out, first_s)


def _order(each: Told) -> tuple[bool, int, bool, bool, float]:
    return (
        each.suppressed, ROWS[each.row].rank, not each.first_out, not each.present, each.since_s
    )


def _follows(index: int, tick: Tick) -> bool:
    """Whether a row is only a consequence of something graver that is told already."""
    mode, row = tick.state.mode, ROWS[index]
    if index == mode.first_out:
        return False
    if mode.phase == DRY and row.tier in QUIET_TIERS:
        return True
    follows = {DRY: FOLLOWS_DRY, NO_FLOW: FOLLOWS_STILL_WATER}.get(mode.phase, 0)
    return bool(follows >> index & 1)


def out_of_service(place: Place) -> list[Row]:
    """Rows that nothing fitted could raise."""
    fitted = place.constants.fitted
    return [row for row in ROWS if row.name in FITTED and not getattr(fitted, FITTED[row.name])]


def machine_words(each: Told, phase: int) -> str:
    """What the machine did; while the coil may be dry no row moves water."""
    row = ROWS[each.row]
    moves = row.damper == "shut" and row.latch != "dry"
    return LOCKED if moves and phase == DRY else row.machine
