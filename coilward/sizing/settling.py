"""Where outlet and tank end in each state of the loop, how fast, and what a dead pump leaves."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.states import BoilTimes, film_ratio
from coilward.loop.sums import settle
from coilward.loop.sums.settle import Settled
from coilward.loop.trips import is_tub
from coilward.loop.units import System, show
from coilward.sizing.row import Row

SETTLING = "Where it settles"
NEAR_K = 1.0


class State(NamedTuple):
    """One state with the fire held: where it ends and how fast. Times are NaN where none is."""

    key: str
    name: str
    heat_w: float
    flow_lpm: float
    outlet_c: float
    tank_c: float
    tau_s: float
    near_s: float
    """Until the tank is within 1 K of its end."""
    boils_s: float
    """Until the outlet boils with water flowing; infinite where it never does."""
    still_s: float
    """Loss of flow to boiling, hottest turn, metal and water at one temperature."""
    still_film_s: float
    """The same with the wall hotter than the water."""


def states(loop: Loop, derived: Derived) -> tuple[State, ...]:
    """Every state that this loop has, the mildest first."""
    nominal_kw, largest_kw = loop.fire.nominal_kw, loop.fire.largest_kw
    found, boils = derived.settled, derived.boil_s
    cold_c = loop.tank.start_c
    every = [_state(loop, derived, "nominal", "nominal fire", nominal_kw, found.nominal, cold_c,
                    boils.nominal)]  # fmt: skip
    if not is_tub(loop):
        every.append(
            _state(loop, derived, "throttled", "nominal, at set-point", nominal_kw,
                   found.throttled, cold_c, boils.throttled)
        )  # fmt: skip
    every.append(
        _state(loop, derived, "largest", "largest fire held", largest_kw, found.largest, cold_c,
               boils.largest)
    )  # fmt: skip
    hot_c = found.largest.tank_c
    for key, name, end in (
        ("fans_off", "largest, fans off", found.fans_off),
        ("fans_off_dump", "fans off, dump open", found.fans_off_dump),
    ):
        if end is not None:
            every.append(_state(loop, derived, key, name, largest_kw, end, hot_c, None))
    return tuple(every)


def _state(
    loop: Loop, derived: Derived, key: str, name: str, heat_kw: float, end: Settled,
    start_c: float, still: BoilTimes | None,
) -> State:  # fmt: skip
    rise_k = end.outlet_c - end.tank_c
    tub = is_tub(loop)
    still_s = still.peaked if still else math.nan
    return State(
        key, name, 1e3 * heat_kw, end.flow_lpm, end.outlet_c, end.tank_c, end.tau_s,
        math.nan if tub else near_s(end.tank_c, start_c, end.tau_s),
        math.nan
        if tub
        else settle.time_to_reach_s(
            end.outlet_c, start_c + rise_k, end.tau_s, derived.coil_boil_c
        ),
        still_s,
        still_s
        * film_ratio(
            loop, end, heat_kw, derived.coil_boil_c, derived.coil_heat_j_k, derived.coil_copper_kg
        ),
    )  # fmt: skip


def near_s(end_c: float, start_c: float, tau_s: float) -> float:
    """Time in which a tank comes within 1 K of its end, s."""
    return tau_s * math.log(max(1.0, abs(end_c - start_c) / NEAR_K))


def boils(state: State) -> bool:
    """Whether the outlet boils in this state although water flows."""
    return math.isfinite(state.boils_s)


def settling_rows(loop: Loop, derived: Derived, system: System) -> Iterator[Row]:
    """Every state as numbers."""
    for state in states(loop, derived):
        yield from _rows(state, is_tub(loop), system)


def _rows(state: State, tub: bool, system: System) -> Iterator[Row]:
    def row(word: str, name: str, value: float, unit: str, **more: str) -> Row:
        return Row(f"{state.key}_{word}", SETTLING, f"{state.name}: {name}", value, unit,
                   **more)  # type: ignore[arg-type]  # fmt: skip

    hot = "boils" if boils(state) else ""
    yield row("outlet_c", "outlet", state.outlet_c, "c", better="less", words=hot)
    yield row("tank_c", "tub, at its hottest" if tub else "tank", state.tank_c, "c",
              better="" if tub else "less", words=hot)  # fmt: skip
    yield row("flow_lpm", "flow", state.flow_lpm, "lpm", better="more")
    if not tub:
        yield row("tau_min", "time constant", state.tau_s / 60, "min")
        near = f"within {show(NEAR_K, 'k', system)} of its end after"
        yield row("near_min", near, state.near_s / 60, "min",
                  words="boils before" if boils(state) else "")  # fmt: skip
        yield row(
            "boils_min", "boils after", state.boils_s / 60, "min", better="more",
            words="" if boils(state) else "never",
        )
    if not math.isnan(state.still_s):
        yield row("still_s", "boils without flow after", state.still_s, "s", better="more",
                  note="hottest turn, metal and water at one temperature")  # fmt: skip
        yield row("still_film_s", "the same with the wall's film", state.still_film_s, "s",
                  note="no margin: the wall itself boils earlier")  # fmt: skip
