"""The simulator's plant led along a log: begun from readings, drawn to them, or left to itself."""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np

from coilward.controller.types import Commands
from coilward.hil.replay.health import CHANNEL_READINGS, FRESH_S, Health
from coilward.hil.replay.logged import COMMANDS, Logged, Numbers, outlet_c
from coilward.loop.model import Loop
from coilward.simulator import slots as at
from coilward.simulator.closed import advance, catch_up, disturb, obey
from coilward.simulator.coil import film_w_k
from coilward.simulator.hydraulics import pumped_lpm, valve_square
from coilward.simulator.parameters import NEVER_S, judge_afresh, resting

DRAWN: Final = 0.2
"""Of the difference to the log, what the plant is moved by at a time."""
EVERY_S: Final = 10
"""Seconds between two such moves."""
BROADLY_S: Final = 5
"""A reading that the plant is drawn to is the mean over so long."""
MOST_OFF: Final = 0.2
"""The pump's strength is moved by no larger share at a time."""
TOP_SHARE: Final = 2.0
"""The tank's upper layer isn't seen: it is moved by more, so that the lower one's slope agrees."""
JUMPS: Final = (at.PUMP_SHARE, at.PUMP_STALLED, at.AIR_LOCK, at.JAMMED, at.LEVEL, at.FAN_SHARE,
                at.DAMPER_STUCK, at.METER_FACTOR)  # fmt: skip
"""Parameters after whose change the plant is looked at tick by tick."""


class Driven(NamedTuple):
    """What acts on the plant in a night, one row a second, whatever is decided."""

    seconds: Logged
    ticks: Logged
    heat_w: Numbers
    """With the damper open."""
    measured: Numbers
    air: Numbers
    """Behind the damper, under the logged commands."""
    health: Health


class Outcome(NamedTuple):
    """What comes of some time, up to the first boil; nothing after it counts."""

    boiled_s: float | None
    """When the coil first boils; None where it doesn't."""
    boil_margin_k: float
    """Boiling less the hottest water in the coil, at the least; 0 where it boils."""
    boil_margin_s: float
    """Time to boil if the water stood still, at the least; infinite where no heat came."""


class Follower:
    """A plant with its parameters, at one second of a log."""

    def __init__(
        self, loop: Loop, p: list[float], driven: Driven, row: int, noise: list[float]
    ) -> None:
        """Begun from what was read at a row, in the interpreter."""
        self.loop, self.driven, self.row, self.noise = loop, driven, row, noise
        self.strength = 1.0
        """Of the pump, over that in the log's health."""
        self.a_second = round(1.0 / loop.tick_s)
        self.p: Any = list(p)
        self.y: Any = self._begin(p, row)
        self.act(row)

    @property
    def tick(self) -> int:
        """On the plant's clock."""
        return int(self.driven.seconds.tick[0]) + self.row * self.a_second

    def copy(self) -> Follower:
        """Another one that goes its own way from here."""
        other: Follower = object.__new__(type(self))
        other.__dict__.update(self.__dict__)
        other.y, other.p = self.y.copy(), self.p.copy()
        return other

    def act(self, row: int) -> None:
        """Let act on the plant what acted on it in a second of the log."""
        health = self.driven.health
        jumps = False
        for slot, value in zip(health.slots, health.values[row].tolist(), strict=True):
            if slot == at.PUMP_SHARE:
                value *= self.strength
            if self.p[slot] != value:
                jumps = jumps or slot in JUMPS
                self.p[slot] = value
        self.y[at.HOLD_W] = float(self.driven.heat_w[row])
        room_c = float(self.driven.seconds.readings["room_c"][row])
        if room_c == room_c and self.p[at.IS_TUB] <= 0.0:
            self.y[at.ROOM_AIR] = room_c - float(self.p[at.OFFSET_K_ + at.ROOM])
        if jumps:
            disturb(self.y, self.p)

    def follow(self, until: int, *, draw: bool = False) -> Numbers:
        """Under the logged commands up to a row: what outlet and tank show at each of them, degC.

        With ``draw`` the plant is drawn to the readings on its way.
        """
        shown = np.empty((2, until - self.row))
        for step in range(until - self.row):
            self.act(self.row)
            self._second()
            self.row += 1
            shown[:, step] = self.shown()
            if draw and self.row % EVERY_S == 0:
                self.draw(DRAWN)
        return shown

    def _second(self) -> None:
        ticks, until = self.driven.ticks, self.tick + self.a_second
        for tick in range(self.tick, until):
            row = int(ticks.rows_at(np.array(tick)))
            pump, valve, fans, damper, dump, horn = (
                float(ticks.told[name][row]) for name in COMMANDS
            )
            told = Commands(pump > 0.0, valve, fans, damper > 0.0, dump > 0.0, int(horn), False)
            obey(self.y, self.p, self.noise, tick, told)
            advance(self.y, self.p, self.noise, tick)
        catch_up(self.y, self.p, self.noise, until)

    def shown(self) -> tuple[float, float]:
        """What the thermometers of outlet and tank show, without their noise, degC."""
        return self._shown(at.OUTLET_A), self._shown(at.TANK)

    def _shown(self, channel: int) -> float:
        return float(self.y[at.LAGGED_ + channel] + self.p[at.OFFSET_K_ + channel])

    def judge(self) -> None:
        """Begin anew with what `outcome` tells."""
        judge_afresh(self.y)

    def outcome(self) -> Outcome:
        """What came of it since `judge`."""
        boiled_s, least_s = float(self.y[at.BOILED_S]), float(self.y[at.LEAST_BOIL_S])
        return Outcome(
            None if boiled_s < 0.0 else boiled_s, max(0.0, float(self.y[at.LEAST_BOIL_K])),
            math.inf if least_s >= NEVER_S else max(0.0, least_s),
        )  # fmt: skip

    def draw(self, share: float) -> None:
        """Move the plant toward what was read, by a share of the difference."""
        y = self.y
        flows = bool(y[at.FLOW_LPM] > self.loop.meter.lowest_lpm)
        self._strengthen(flows, share)
        if flows and (by := share * self._off_k(at.OUTLET_A)):
            for cell in range(at.COIL_CELLS):
                y[at.WATER_ + cell] += by * (cell + 1) / at.COIL_CELLS
                y[at.WALL_ + cell] += by * (cell + 1) / at.COIL_CELLS
            y[at.STUB] += by
            self._move((at.OUTLET_A, at.OUTLET_B, at.METAL), by)
            y[at.HOTTEST_WATER] = max(y[at.WATER_ : at.WATER_ + at.COIL_CELLS])
        if flows and (by := share * self._off_k(at.RADIATOR_INLET)):
            self._warm(at.HOT_, at.LINE_CELLS, by)
            self._move((at.RADIATOR_INLET,), by)
        if flows and (by := share * self._off_k(at.RADIATOR_OUTLET)):
            self._warm(at.CORE_, at.RADIATOR_CELLS, by)
            self._warm(at.BACK_, at.LINE_CELLS, by)
            self._move((at.RADIATOR_OUTLET,), by)
        if by := share * self._off_k(at.TANK):
            y[at.TANK_BOTTOM] += by
            y[at.TANK_TOP] += TOP_SHARE * by
            self._warm(at.COLD_, at.LINE_CELLS, by)
            self._move((at.TANK,), by)

    def _strengthen(self, flows: bool, share: float) -> None:
        """Let the pump move what the meter read. The place of a valve with play isn't known."""
        came, low = self.driven.seconds.readings, max(0, self.row - BROADLY_S)
        if flows and (came["pulse_age_s"][low : self.row + 1] <= FRESH_S).all():
            seen_lpm = float(np.mean(came["flow_lpm"][low : self.row + 1]))
            off = seen_lpm / float(self.y[at.FLOW_LPM]) - 1.0
            self.strength *= 1.0 + share * min(max(off, -MOST_OFF), MOST_OFF)
            self.act(self.row)

    def _off_k(self, channel: int) -> float:
        """How much more was read than the plant shows; 0 where nothing was read."""
        low = max(0, self.row - BROADLY_S)
        came = self.driven.seconds.readings
        seen_c = outlet_c(came) if channel == at.OUTLET_A else came[CHANNEL_READINGS[channel]]
        known = seen_c[low : self.row + 1]
        known = known[np.isfinite(known)]
        if not len(known):
            return 0.0
        # The mean over some seconds is that of half as long ago; so is the plant's, nearly.
        return float(np.mean(known)) - self._shown(channel)

    def _warm(self, first: int, cells: int, by_k: float) -> None:
        for slot in range(first, first + cells):
            self.y[slot] += by_k

    def _move(self, channels: tuple[int, ...], by_k: float) -> None:
        for channel in channels:
            for first in (at.LAGGED_, at.TRUE_, at.PLACE_, at.SEEN_):
                self.y[first + channel] += by_k

    def _begin(self, p: list[float], row: int) -> list[float]:
        """The plant as it must have been to show what was read at a row."""
        seconds = self.driven.seconds
        came = {name: float(each[row]) for name, each in seconds.readings.items()}
        told = {name: float(each[row]) for name, each in seconds.told.items()}
        y = resting(self.loop, p)
        tank_c = _known(came["tank_c"], self.loop.tank.start_c)
        out_c = _known(float(outlet_c(seconds.readings)[row]), tank_c)
        hot_c = _known(came["radiator_inlet_c"], out_c)
        back_c = _known(came["radiator_outlet_c"], tank_c)
        y[at.TANK_BOTTOM], y[at.STUB] = tank_c, out_c
        y[at.TANK_TOP] = back_c if told["pump"] > 0.0 else tank_c
        self._fill_coil(y, p, tank_c, out_c, float(self.driven.heat_w[row] * self.driven.air[row]))
        for cell in range(at.LINE_CELLS):
            y[at.COLD_ + cell], y[at.BACK_ + cell] = tank_c, back_c
            y[at.HOT_ + cell] = out_c + (hot_c - out_c) * (cell + 1) / at.LINE_CELLS
        for cell in range(at.RADIATOR_CELLS):
            share = (cell + 1) / at.RADIATOR_CELLS
            y[at.CORE_ + cell] = hot_c + (back_c - hot_c) * share
        y[at.ROOM_AIR] = _known(came["room_c"], y[at.ROOM_AIR])
        y[at.LIT], y[at.HOLD_W] = 1.0, float(self.driven.heat_w[row])
        y[at.AIR] = float(self.driven.air[row])
        y[at.GAS] = self.loop.fire.gas_c if y[at.HOLD_W] > 0.0 else out_c
        y[at.TOLD_PUMP] = y[at.CONTACT] = told["pump"]
        y[at.TOLD_VALVE] = y[at.MOTOR] = told["valve"]
        y[at.STROKE] = max(told["valve"], p[at.VALVE_STOP])
        y[at.TOLD_FANS] = y[at.FAN_SPEED] = told["fans"]
        y[at.TOLD_DAMPER] = y[at.DAMPER] = told["damper_open"]
        y[at.TOLD_DUMP] = y[at.DUMP_OPENING] = told["dump_open"]
        y[at.VALVE_SQUARE] = valve_square(p, y[at.STROKE])
        speed = told["pump"] * self._value(at.PUMP_SHARE, row)
        own_lpm = pumped_lpm(p, speed, y[at.VALVE_SQUARE])
        if self.driven.measured[row] > 0.0 and own_lpm > 0.0:
            self.strength = came["flow_lpm"] / own_lpm
        y[at.SPEED] = self.strength * speed
        y[at.FLOW_LPM] = y[at.PULSE_LPM] = pumped_lpm(p, y[at.SPEED], y[at.VALVE_SQUARE])
        y[at.PULSE_AGE_S] = _known(came["pulse_age_s"], 0.0)
        y[at.HOTTEST_WATER] = y[at.HOTTEST_WALL] = out_c
        for least, first in ((at.COLD_LEAST, at.COLD_), (at.HOT_LEAST, at.HOT_),
                             (at.BACK_LEAST, at.BACK_)):  # fmt: skip
            y[least] = min(y[first : first + at.LINE_CELLS])
        for channel in range(at.CHANNEL_COUNT):
            place_c = y[int(p[at.SOURCE_ + channel])]
            for first in (at.LAGGED_, at.TRUE_, at.PLACE_, at.SEEN_):
                y[first + channel] = place_c
        judge_afresh(y)
        disturb(y, p)
        return y

    def _fill_coil(
        self, y: list[float], p: list[float], tank_c: float, out_c: float, heat_w: float
    ) -> None:
        """Water along the coil as the fire heats it, and the metal over it, as in a steady run."""
        flow_lpm = float(self.driven.seconds.readings["flow_lpm"][self.row])
        film = film_w_k(p, _known(flow_lpm, 0.0))
        view = p[at.VIEW_ : at.VIEW_ + at.COIL_CELLS]
        for cell in range(at.COIL_CELLS):
            water_c = tank_c + (out_c - tank_c) * sum(view[: cell + 1]) / sum(view)
            y[at.WATER_ + cell] = water_c
            y[at.WALL_ + cell] = water_c + heat_w * view[cell] / (at.COIL_CELLS * film)

    def _value(self, slot: int, row: int) -> float:
        health = self.driven.health
        return float(health.values[row, health.slots.index(slot)])


def _known(value: float, otherwise: float) -> float:
    return otherwise if value != value else value
