"""The rest of a night after two logics part: simulated, since no log can answer the new one.

The plant is begun from what was read, led along the log under the logged commands, and held
against it: that is the error that the rest is told with. From the tick on at which the commands
part, the new logic decides on what this plant shows. People do what they did then, the fire gives
the heat that it gave, and what was broken is broken.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date
from typing import Final, NamedTuple

import numpy as np

from coilward.controller.constants import Constants
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.session import Session
from coilward.hil.replay.changes import Change
from coilward.hil.replay.fitted import Fitted, NoHeat, best_fitted
from coilward.hil.replay.follower import Follower, Outcome
from coilward.hil.replay.health import FRESH_S
from coilward.hil.replay.logged import Logged, Numbers, logged, outlet_c
from coilward.hil.replay.replaying import Parting
from coilward.hil.tick import requests_of
from coilward.simulator import slots as at
from coilward.simulator.bench import LOG_ROOM, Bench
from coilward.simulator.closed import LOG_COLUMNS, advance, capped_lpm, hotter, obey
from coilward.simulator.engine import Engine, floats
from coilward.simulator.sensors import read

Progress = Callable[[float], None]
CURVES: Final = ("coil_outlet_c", "tank_c", "flow_lpm", "coil_water_c")
"""Of the rest, a row a second: three as the thermometers and the meter show them, and the hottest
water in the coil, which none shows."""


MARK_S: Final = 60
SHOWN_S: Final = 600
"""Of the log, what is shown from before the commands part."""


class Rest(NamedTuple):
    """What the new logic does in the simulated rest, and what comes of it."""

    from_s: float
    until_s: float
    cut_short: bool
    """Whether it ends before the log, since the board was away then."""
    fitted: Fitted
    changes: list[Change]
    """Of phase, rows and latches after the first simulated tick."""
    time_s: Numbers
    curves: dict[str, Numbers]
    """By the names in CURVES; the coil's water only up to the first boil."""
    boil_c: float
    outcome: Outcome
    broken: tuple[tuple[float, str], ...]
    """What the log showed to be broken, and since when."""
    logged_time_s: Numbers
    logged: dict[str, Numbers]
    """What was read, by the same names: from ten minutes before on, for those that were read."""


class NoRest(ValueError):  # noqa: N818 - said of a night, not of the program
    """A rest that can't be simulated; its words tell why."""


def simulated_rest(
    reader: Reader, session: Session, constants: Constants, parting: Parting, *,
    last: int | None = None, engine: Engine = "auto", progress: Progress | None = None,
) -> Rest:  # fmt: skip
    """From the tick at which the commands part to the logged end, or to the tick ``last``.

    ``constants`` are the new ones; the plant is that of the session's own loop file.
    Raises NoRest, InputRefused where this program takes that file no more, and as `Reader`.
    """
    ticks = logged(reader, session, last)
    place = int(np.searchsorted(ticks.number, parting.number))
    first, end = _present(ticks, place)
    ended = end < len(ticks.number) - 1
    ticks = ticks.cut(first, end)
    today = date.fromisoformat(session.day)
    bench = Bench(session.loop(), today, engine)
    seconds, row = _by_second(ticks, round(parting.time_s / session.tick_s))
    try:
        fitted, follower = best_fitted(bench, today, ticks, seconds, row)
    except NoHeat as none:
        raise NoRest(str(none)) from None
    played = _Played(bench, constants, follower, parting)
    played.play(progress)
    return played.told(fitted, ended)


def _present(ticks: Logged, place: int) -> tuple[int, int]:
    """First and last row about a row between which the board was never away."""
    away = ticks.away
    before, after = away[away < place], away[away >= place]
    return (
        int(before[-1]) + 1 if len(before) else 0,
        int(after[0]) if len(after) else len(ticks.number) - 1,
    )


def _by_second(ticks: Logged, at_tick: int) -> tuple[Logged, int]:
    """One row a second, one of them at a tick, and its place."""
    a_second = round(1.0 / ticks.tick_s)
    row = (at_tick - int(ticks.tick[0])) // a_second
    grid = np.arange(at_tick - row * a_second, int(ticks.tick[-1]) + 1, a_second)
    rows = ticks.rows_at(grid)
    return ticks.at_rows(rows)._replace(tick=grid), row


class _Played:
    """The rest on its way."""

    def __init__(
        self, bench: Bench, constants: Constants, follower: Follower, parting: Parting
    ) -> None:
        self.bench, self.constants, self.parting = bench, constants, parting
        self.plant, self.driven = follower, follower.driven
        self.first = follower.row
        self.first_tick = follower.tick
        self.state = parting.state
        self.changes: list[Change] = []
        self.rows: list[tuple[float, ...]] = []
        self.log = floats(bench.engine, [0.0] * (LOG_COLUMNS * LOG_ROOM))

    def play(self, progress: Progress | None) -> None:
        """To the last second."""
        end = len(self.driven.seconds.number) - 1
        self.plant.judge()
        self._look()
        # Decided on what was read: from the next tick on there are no readings for it.
        tick, plant = self.plant.tick, self.plant
        plant.act(plant.row)
        obey(plant.y, plant.p, plant.noise, tick, self.parting.commands)
        advance(plant.y, plant.p, plant.noise, tick)
        plant.y, plant.p, plant.noise = (
            floats(self.bench.engine, each) for each in (plant.y, plant.p, plant.noise)
        )
        self._second(tick + 1)
        while plant.row < end:
            plant.act(plant.row)
            self._look()
            self._second(plant.tick)
            if progress is not None and self.plant.row % MARK_S == 0:
                progress((self.plant.row - self.first) / (end - self.first))
        self._look()

    def _second(self, tick: int) -> None:
        """From a tick to the end of its second."""
        until = self.plant.tick + self.plant.a_second
        ticks = self.driven.ticks
        masks = ticks.requests[ticks.rows_at(np.arange(tick, until))].tolist()
        while tick < until:
            same = next((k for k, mask in enumerate(masks) if mask != masks[0]), len(masks))
            self._decide(tick, tick + same, masks[0])
            tick, masks = tick + same, masks[same:]
        self.plant.row += 1

    def _decide(self, tick: int, until: int, mask: int) -> None:
        plant, nothing = self.plant, self.bench.empty
        while tick < until:
            tick, rows, self.state = self.bench.run(
                plant.y, plant.p, plant.noise, nothing, nothing, self.log, self.state,
                self.constants, requests_of(mask), tick, until, True,
            )  # fmt: skip
            self._note(rows)

    def _note(self, rows: int) -> None:
        tick_s = self.bench.loop.tick_s
        for row in range(rows):
            at_tick, *masks = self.log[row * LOG_COLUMNS : (row + 1) * LOG_COLUMNS]
            number = self.parting.number + int(at_tick) - self.first_tick
            self.changes.append(Change(number, float(at_tick) * tick_s, *map(int, masks)))

    def _look(self) -> None:
        """What thermometers and meter show at the beginning of a second, and the coil's water."""
        y, p = self.plant.y, self.plant.p
        time_s = self.plant.tick * self.bench.loop.tick_s
        came = read(y, p, time_s)
        boiled = y[at.BOILED_S] >= 0.0
        self.rows.append((
            time_s, hotter(came.coil_outlet_a_c, came.coil_outlet_b_c), came.tank_c,
            capped_lpm(came, p[at.PULSES_PER_L]), math.nan if boiled else y[at.HOTTEST_WATER],
        ))  # fmt: skip

    def told(self, fitted: Fitted, ended: bool) -> Rest:
        """All of it."""
        table = np.array(self.rows, float)
        seconds, tick_s = self.driven.seconds, self.bench.loop.tick_s
        shown = seconds.at_rows(np.arange(max(0, self.first - SHOWN_S), len(seconds.number)))
        came = shown.readings
        begun_s = float(seconds.tick[0]) * tick_s
        return Rest(
            self.parting.time_s, float(table[-1, 0]), ended, fitted, self.changes, table[:, 0],
            {name: table[:, 1 + place] for place, name in enumerate(CURVES)},
            self.bench.derived.coil_boil_c, self.plant.outcome(),
            tuple((begun_s + row, words) for row, words in self.driven.health.words),
            np.asarray(shown.tick * tick_s, np.float64),
            {
                "coil_outlet_c": outlet_c(came), "tank_c": came["tank_c"],
                "flow_lpm": np.where(came["pulse_age_s"] > FRESH_S, 0.0, came["flow_lpm"]),
            },
        )  # fmt: skip
