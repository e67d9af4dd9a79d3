"""The whole machine with some settings: steady hours, surges of heat, and nights that go wrong."""

from __future__ import annotations

import math
from datetime import date
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.loop.derived import Derived
from coilward.loop.model import Loop, Throttle
from coilward.loop.states import RESERVE, min_flow_lpm
from coilward.loop.sums.settle import stream_for_outlet_w_k
from coilward.simulator import slots as at
from coilward.simulator.bench import Bench
from coilward.simulator.engine import Engine
from coilward.simulator.night import Heat, Moment, Night, read_night
from coilward.simulator.rehearsal import rehearsed
from coilward.simulator.run import Run

Numbers = NDArray[np.float64]

SURGE: Final = 1.3
"""Heat after a reload of lively wood over the heat before (common practice, no source)."""
SURGE_S, SURGE_STEPS = 60.0, 12
STEADY_FROM_S, SURGE_AT_S, ENDS_S = 2400.0, 6000.0, 8400.0
MOST_OPENED: Final = 0.1
"""Share of a surge for which the loop may give all its flow and still be called the rule's."""
NEARLY_LPM: Final = 0.95
"""Of the open valve's flow: a meter that flutters keeps the valve from its very end."""
IN_BAND_K: Final = 2.0
"""Time in band is counted within this of the set-point."""
ROOM: Final = 1.25
FLOWS: Final = 60
NIGHTS: Final = ("largest-held", "too-much-heat", "fans-fail", "pump-dies")
"""Each stresses the valve, or the interlocks behind it, in another way."""


class Trial(NamedTuple):
    """A steady hour and a surge, as the whole machine ran them."""

    heat_w: float
    """Before the surge."""
    cooling: float
    """Share of the radiator's conductance."""
    flow_lpm: float
    """Mean of the steady hour."""
    moves_1_h: float
    """Of the valve in the steady hour."""
    travel_1_h: float
    """Full strokes of the servo in the steady hour, backlash and all."""
    in_band: float
    """Share of the steady hour within the band about the set-point."""
    steady_k: float
    """Mean distance from the set-point in the steady hour."""
    peak_c: float
    """Hottest true outlet in and after the surge."""
    surge_k_min: float
    """Distance from the set-point, integrated from the surge on, K min."""
    clamped_s: float
    """Time at the clamp of the minimum flow, in all of it."""
    opened: float
    """Share of the time from the surge on with all the flow that the loop can give, or nearly."""
    causes: tuple[str, ...]
    """Interlocks that counted."""
    time_s: Numbers
    """From the surge on, one value a second."""
    outlet_c: Numbers

    @property
    def regulates(self) -> bool:
        """The rule holds this fire, and neither the clamp (too small) nor the open valve does."""
        return self.clamped_s < 0.5 * ENDS_S and self.opened < MOST_OPENED


class Ending(NamedTuple):
    """How one night ended."""

    night: str
    boil_k: float
    """Least distance of the hottest water from boiling; before the first boil."""
    peak_c: float
    first_boil_s: float
    """Infinite where nothing boils."""
    causes: tuple[str, ...]


class Fire(NamedTuple):
    """A fire to try, and how well the loop is cooled meanwhile."""

    heat_w: float
    """Before the surge."""
    cooling: float
    """Share of the radiator's conductance that is there: dust, a warm room, a fan that stands."""
    tank_c: float
    """Where the tank settles with both while the outlet is at its set-point."""


def fires(loop: Loop, derived: Derived) -> list[Fire]:
    """Three heats from which a surge leads no further than the largest fire: small, usual, large.

    Each with as much of the radiator as leaves the valve to hold it. With the whole radiator the
    tank of many a loop is so cold that the clamp of the minimum flow holds every fire.
    """
    nominal_w, most_w = 1e3 * loop.fire.nominal_kw, 1e3 * loop.fire.largest_kw / SURGE
    heats_w = (0.7 * min(nominal_w, most_w), min(nominal_w, most_w), most_w)
    return [fire_at(each, loop, derived) for each in heats_w]


def fire_at(heat_w: float, loop: Loop, derived: Derived) -> Fire:
    """A fire with the largest share of the radiator that asks for ROOM times the clamp's flow.

    The whole radiator where even that leaves the outlet too hot. Raises ValueError for a loop
    without one.
    """
    if loop.radiator is None:
        raise ValueError("a loop without a radiator has no fire that its valve could hold")
    whole_w_k, air_c, set_c = loop.radiator.fans_on_w_k, loop.room.air_c, derived.set_point_c
    litre_w_k = derived.water_w_per_lpm_k
    flow_lpm, share = derived.flow_open_lpm, 1.0
    for tried_lpm in np.geomspace(derived.flow_least_lpm, derived.flow_open_lpm, FLOWS):
        stream_w_k = litre_w_k * float(tried_lpm)
        tank_c = set_c - heat_w / stream_w_k
        least_lpm = RESERVE * min_flow_lpm(heat_w, derived.allow_c, tank_c, derived.flow_least_lpm)
        if tried_lpm >= ROOM * max(least_lpm, derived.flow_stop_lpm) and tank_c > air_c:
            needed_w_k = -stream_w_k * math.log1p(-heat_w / (stream_w_k * (set_c - air_c)))
            flow_lpm, share = float(tried_lpm), min(needed_w_k / whole_w_k, 1.0)
            break
    if share == 1.0:
        most_w_k = litre_w_k * derived.flow_open_lpm
        flow_lpm = stream_for_outlet_w_k(heat_w, whole_w_k, air_c, set_c, most_w_k) / litre_w_k
    return Fire(heat_w, share, set_c - heat_w / (litre_w_k * flow_lpm))


def surge_night(heat_w: float) -> Night:
    """Two hours at a heat, then nearly a third more of it within a minute."""
    moments = [Moment(at_s=1.0, do="hold", heat=Heat("", 1e-3 * heat_w))]
    for step in range(1, SURGE_STEPS + 1):
        share = 1.0 + (SURGE - 1.0) * step / SURGE_STEPS
        at_s = SURGE_AT_S + SURGE_S * step / SURGE_STEPS
        moments.append(Moment(at_s=at_s, do="hold", heat=Heat("", 1e-3 * share * heat_w)))
    return Night(
        coilward=1, name="surge", duration_s=ENDS_S, start="running", moment=moments
    )  # fmt: skip


def bench_for(loop: Loop, settings: Throttle, today: date, engine: Engine) -> Bench:
    """The loop with other settings, made ready."""
    return Bench(loop.model_copy(update={"throttle": settings}), today, engine)


def surge(bench: Bench, fire: Fire, seed: int) -> Trial:
    """One trial."""
    night = surge_night(fire.heat_w)
    start = bench.start(night)
    start.p[at.FANS_ON_W_K] *= fire.cooling
    start.y[at.TANK_TOP] = start.y[at.TANK_BOTTOM] = fire.tank_c
    run = rehearsed(bench, night, start, seed=seed)
    trace, set_c = run.trace, bench.derived.set_point_c
    off_k = np.abs(trace["coil_outlet_true_c"] - set_c)
    open_lpm = bench.constants.water.open_lpm
    steady = slice(int(STEADY_FROM_S), int(SURGE_AT_S))
    after = slice(int(SURGE_AT_S), None)
    hours = (SURGE_AT_S - STEADY_FROM_S) / 3600.0
    moves, travel = moved(trace["valve_cmd"][steady])
    return Trial(
        heat_w=fire.heat_w,
        cooling=fire.cooling,
        flow_lpm=float(trace["flow_true_lpm"][steady].mean()),
        moves_1_h=moves / hours,
        travel_1_h=travel / hours,
        in_band=float((off_k[steady] <= IN_BAND_K).mean()),
        steady_k=float(off_k[steady].mean()),
        peak_c=float(trace["coil_outlet_true_c"][after].max()),
        surge_k_min=float(off_k[after].sum()) / 60.0,
        clamped_s=run.valve_limit_s["clamp"],
        opened=float((trace["flow_true_lpm"][after] >= NEARLY_LPM * open_lpm).mean()),
        causes=_causes(run),
        time_s=trace["time_s"][after] - SURGE_AT_S,
        outlet_c=trace["coil_outlet_true_c"][after],
    )


def moved(stroke: Numbers) -> tuple[int, float]:
    """Moves and full strokes of travel in a record with one value a second.

    A move toward shut goes past its goal and comes back within two seconds: that is one move.
    """
    changes = np.flatnonzero(np.diff(stroke))
    if not changes.size:
        return 0, 0.0
    return 1 + int((np.diff(changes) > 1).sum()), float(np.abs(np.diff(stroke)).sum())


def ending(bench: Bench, name: str, seed: int) -> Ending:
    """How a shipped night ends."""
    night = read_night(name)
    run = rehearsed(bench, night, bench.start(night), seed=seed)
    boiled_s = math.inf if run.first_boil_s is None else run.first_boil_s
    return Ending(
        name, run.margins.boil_k, run.peaks.coil_outlet_true_c, boiled_s, _causes(run)
    )


def _causes(run: Run) -> tuple[str, ...]:
    return tuple(sorted({cause.name for cause in run.causes}))
