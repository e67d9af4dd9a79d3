"""The plant that follows a log best, and how well: the error that a simulated rest is told with."""

from __future__ import annotations

import math
from datetime import date
from typing import Final, NamedTuple

import numpy as np

from coilward.hil.replay.follower import Driven, Follower, Outcome
from coilward.hil.replay.health import health_of
from coilward.hil.replay.heat_logged import air_of, open_heat_w
from coilward.hil.replay.logged import Logged, Numbers, as_log, outlet_c
from coilward.learning.following import CHANNEL_OF, Plant
from coilward.learning.learned import learn
from coilward.loop.errors import InputRefused
from coilward.simulator import slots as at
from coilward.simulator.bench import Bench
from coilward.simulator.parameters import noise_table, set_lag

LED_S: Final = 2400
"""The plant is drawn to the log from so long before the commands part."""
TRIED_S: Final = 600
"""Then it is left to itself for so long, under the logged commands, and held against the log."""
LEAST_S: Final = 60
"""A shorter trial tells nothing."""
WELL_OUTLET_K, WELL_TANK_K = 1.0, 0.5
"""Within these the loop file's own plant is taken, and nothing is learned."""
POOR_OUTLET_K, POOR_TANK_K = 3.0, 1.5
"""Over either of these the plant does not follow the log (common practice, no source)."""
NOISE_SEED: Final = 1


class Misfit(NamedTuple):
    """Plant against log under the logged commands, root mean square, K; NaN where not known."""

    outlet_k: float
    """Where flow was proven; the heat of the fire was reckoned from this very reading."""
    tank_k: float
    lasts_s: float

    def within(self, outlet_k: float, tank_k: float) -> bool:
        """Whether both are known and small enough."""
        return self.outlet_k <= outlet_k and self.tank_k <= tank_k

    def over(self, outlet_k: float, tank_k: float) -> bool:
        """Whether either is known and too large."""
        return self.outlet_k > outlet_k or self.tank_k > tank_k

    @property
    def size(self) -> float:
        """Both on the scale on which they are judged; what isn't known counts for nothing."""
        return float(np.nansum((self.outlet_k / POOR_OUTLET_K, self.tank_k / POOR_TANK_K)))


class Fitted(NamedTuple):
    """Which plant was taken, and how it follows the log."""

    learned: bool
    """From this log; else it is that of the loop file."""
    before: Misfit
    """In the last minutes before the commands part, left to itself."""
    after: Misfit
    """From there to the end, left to itself under the commands that were logged."""
    as_logged: Outcome
    """What comes of this plant in that time under the commands that were logged."""

    @property
    def poor(self) -> bool:
        """Whether what is simulated with this plant is no more than a story.

        Nobody knowing how it follows, before the parting or after it, is poor. After it flow may
        never be proven: that the outlet's error isn't known then is no sign against the plant.
        """
        poor = POOR_OUTLET_K, POOR_TANK_K
        follows = self.before.within(*poor) or self.after.within(*poor)
        return not follows or self.before.over(*poor) or self.after.over(*poor)

    @property
    def well(self) -> bool:
        """Whether no better plant is worth looking for."""
        well = WELL_OUTLET_K, WELL_TANK_K
        return self.before.within(*well) and not self.after.over(*well)

    @property
    def size(self) -> float:
        """How far it is off, before and after."""
        return self.before.size + self.after.size


class _Tried(NamedTuple):
    fitted: Fitted
    follower: Follower
    """Where the commands part, drawn to what was read."""


def best_fitted(
    bench: Bench, today: date, ticks: Logged, seconds: Logged, row: int
) -> tuple[Fitted, Follower]:
    """The plant at a row of ``seconds``: the loop file's where it follows well, else the better.

    Raises NoHeat where the heat of the fire can't be told.
    """
    p = bench.sound(bench.loop.site.outdoor_c)
    own = _tried(bench, ticks, seconds, row, p, learned=False)
    if own.fitted.well:
        return own.fitted, own.follower
    other_p = _learned(bench, today, ticks)
    if other_p is not None:
        other = _tried(bench, ticks, seconds, row, other_p, learned=True)
        if other.fitted.size < own.fitted.size:
            return other.fitted, other.follower
    return own.fitted, own.follower


class NoHeat(ValueError):  # noqa: N818 - said of a log
    """A log that never tells the heat of its fire."""


def driven_by(
    bench: Bench, ticks: Logged, seconds: Logged, p: list[float]
) -> Driven:
    """What acted on the plant in every second. Raises NoHeat."""
    health = health_of(seconds, bench.loop, p)
    stuck = health.values[:, health.slots.index(at.DAMPER_STUCK)]
    opened = np.where(stuck >= 0.0, stuck, seconds.told["damper_open"])
    air = air_of(1.0 - opened, p, 1.0 if opened[0] > 0.5 else p[at.GAS_LEAK])
    heat_w, measured = open_heat_w(seconds, bench.loop, p, air)
    if not measured.any():
        raise NoHeat("flow and rise together never told the heat of the fire")
    return Driven(seconds, ticks, heat_w, measured, air, health)


def _tried(
    bench: Bench, ticks: Logged, seconds: Logged, row: int, p: list[float], *, learned: bool
) -> _Tried:
    driven = driven_by(bench, ticks, seconds, p)
    first = max(0, row - LED_S)
    alone = max(first, row - TRIED_S)
    follower = Follower(bench.loop, p, driven, first, noise_table(NOISE_SEED))
    follower.follow(alone, draw=True)
    before = _misfit(driven, alone, follower.follow(row))
    follower.draw(1.0)
    on = follower.copy()
    on.judge()
    end = len(seconds.number) - 1
    after = _misfit(driven, row, on.follow(end))
    return _Tried(Fitted(learned, before, after, on.outcome()), follower)


def _misfit(driven: Driven, first: int, shown: Numbers) -> Misfit:
    rows = slice(first, first + shown.shape[1])
    came = driven.seconds.readings
    outlet_k = np.where(driven.measured[rows] > 0.0, shown[0] - outlet_c(came)[rows], np.nan)
    return Misfit(_rms(outlet_k), _rms(shown[1] - came["tank_c"][rows]), float(shown.shape[1]))


def _rms(off_k: Numbers) -> float:
    known = off_k[np.isfinite(off_k)]
    return math.nan if len(known) < LEAST_S else float(np.sqrt(np.mean(known**2)))


def _learned(bench: Bench, today: date, ticks: Logged) -> list[float] | None:
    """The plant's parameters as `coilward learn` finds them; None for a log that won't tell."""
    try:
        found = learn(bench.loop, as_log(ticks), today)
    except InputRefused:
        return None
    plant, values = found.plant, found.fit.values
    return _with_sensors(plant, values, bench.loop.tick_s)


def _with_sensors(plant: Plant, values: Numbers, tick_s: float) -> list[float]:
    p: list[float] = plant.parameters(values).tolist()
    channels = {"coil_outlet": (at.OUTLET_A, at.OUTLET_B), "room": (at.ROOM,)}
    channels |= {name: (channel,) for name, channel in CHANNEL_OF.items()}
    keys = {number.key for number in plant.told}
    for name, each in channels.items():
        key = "coil_outlet_a" if name == "coil_outlet" else name
        for channel in each:
            if f"sensors.{key}.offset" in keys:
                p[at.OFFSET_K_ + channel] = plant.offset_k(values, name)
            if f"sensors.{key}.lag" in keys:
                set_lag(p, channel, tick_s, plant.lag_s(values, name))
    return p
