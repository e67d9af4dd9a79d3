"""The whole machine with some settings: steady hours, surges of heat, and nights that go wrong."""

from __future__ import annotations

import math
from datetime import date
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.loop.model import Loop, Throttle
from coilward.simulator.bench import Bench
from coilward.simulator.engine import Engine
from coilward.simulator.night import Heat, Moment, Night, read_night
from coilward.simulator.rehearsal import rehearsed
from coilward.simulator.run import Run
from coilward.tuning.fires import SURGE, Fire, settled_at

Numbers = NDArray[np.float64]

SURGE_S, SURGE_STEPS = 60.0, 12
STEADY_FROM_S, SURGE_AT_S, ENDS_S = 2400.0, 6000.0, 8400.0
MOST_OPENED: Final = 0.1
"""Share of a surge for which the loop may give all its flow and still be called the rule's."""
NEARLY_LPM: Final = 0.95
"""Of the open valve's flow: a meter that flutters keeps the valve from its very end."""
IN_BAND_K: Final = 2.0
"""Time in band is counted within this of the set-point."""
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
    """Time at the clamp of the minimum flow, in the steady hour and from the surge on. While it
    still settles a quick rule goes there because the outlet is cold."""
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
        return self.clamped_s < 0.5 * (ENDS_S - STEADY_FROM_S) and self.opened < MOST_OPENED


class Ending(NamedTuple):
    """How one night ended."""

    night: str
    boil_k: float
    """Least distance of the hottest water from boiling; before the first boil."""
    peak_c: float
    first_boil_s: float
    """Infinite where nothing boils."""
    causes: tuple[str, ...]


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
    start = settled_at(fire, bench, bench.start(night))
    run = rehearsed(bench, night, start, seed=seed, limits_from_s=STEADY_FROM_S)
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
