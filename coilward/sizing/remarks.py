"""What the numbers don't say by themselves, in plain words."""

from __future__ import annotations

import math
from collections.abc import Iterator

from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.trips import is_tub
from coilward.loop.units import System, show
from coilward.sizing.heat import differs, wanted_w
from coilward.sizing.outdoors import suction_m
from coilward.sizing.settling import boils, states
from coilward.sizing.shedding import MOST_PIPE_M, pipe_m

ALIKE = 0.15
"""Typed loss and surfaces that lie closer than this agree."""
USUAL_NEED_M = 2.0
"""Suction head that small pumps want (common practice, no source)."""


def remarks(loop: Loop, derived: Derived, system: System) -> tuple[str, ...]:
    """Every remark, the gravest first."""
    chapters = (_boils, _pump_rating, _trip, _dump, _suction, _heat, _envelope, _tub)
    return tuple(text for chapter in chapters for text in chapter(loop, derived, system))


def _boils(loop: Loop, derived: Derived, system: System) -> Iterator[str]:
    for state in states(loop, derived):
        if not boils(state):
            continue
        after = (
            "from the start" if state.boils_s == 0
            else f"after {show(state.boils_s / 60, 'min', system)}"
        )  # fmt: skip
        yield f"{state.name.capitalize()}: boils {after}, although water flows."


def _pump_rating(loop: Loop, derived: Derived, system: System) -> Iterator[str]:
    for fire in ("nominal", "largest"):
        tank_c = getattr(derived.settled, fire).tank_c
        if tank_c > loop.pump.rated_c:
            yield (
                f"PAST THE PUMP: at the {fire} fire the tank would settle at "
                f"{show(tank_c, 'c', system)}, and the pump is rated for "
                f"{show(loop.pump.rated_c, 'c', system)}. It gives up just when it is needed."
            )
            return


def _trip(loop: Loop, derived: Derived, system: System) -> Iterator[str]:
    tank_c = derived.settled.largest.tank_c
    if not is_tub(loop) and tank_c > derived.tank_trip_c:
        yield (
            f"The largest fire, held, settles the tank at {show(tank_c, 'c', system)}, over its "
            f"trip at {show(derived.tank_trip_c, 'c', system)}: the logic will shut the damper."
        )


def _dump(loop: Loop, derived: Derived, system: System) -> Iterator[str]:
    length_m = pipe_m(derived)
    heat = show(loop.fire.largest_kw, "kw", system)
    if math.isinf(length_m):
        yield (
            f"No dump takes {heat} at this flow. Stopping the air to the fire and an open vent "
            "are the real dump."
        )
    elif length_m > MOST_PIPE_M:
        yield (
            f"No home builder hangs {show(length_m, 'm', system)} of finned pipe for {heat}. "
            "Stopping the air to the fire and an open vent are the real dump."
        )


def _suction(loop: Loop, derived: Derived, system: System) -> Iterator[str]:
    head_m = suction_m(loop, derived.tank_hh_c)
    if head_m < USUAL_NEED_M:
        yield (
            f"Only {show(head_m, 'm', system)} of suction head with the hottest tank: many small "
            f"pumps want {show(USUAL_NEED_M, 'm', system)}. Set the pump lower, or widen its inlet."
        )


def _heat(loop: Loop, _: Derived, system: System) -> Iterator[str]:
    short_w = wanted_w(loop) - 1e3 * loop.fire.nominal_kw
    if not is_tub(loop) and short_w > 1e-6 * wanted_w(loop):
        yield (
            f"The nominal fire is {show(short_w, 'w', system)} short of what the room wants on "
            "the design night: it will be colder inside than typed."
        )


def _envelope(loop: Loop, _: Derived, system: System) -> Iterator[str]:
    envelope = loop.room.envelope
    if envelope is None or loop.room.heat_loss_w_k == envelope.loss_w_k:
        return
    off = differs(loop.room.heat_loss_w_k, envelope.loss_w_k)
    both = (
        f"typed {show(loop.room.heat_loss_w_k, 'w_k', system)}, by surfaces and air changes "
        f"{show(envelope.loss_w_k, 'w_k', system)}"
    )
    if abs(off) <= ALIKE:
        yield f"The room's loss agrees: {both}. The typed one is used."
    else:
        yield (
            f"The room's loss DISAGREES by {100 * abs(off):.0f} %: {both}. The typed one is used; "
            "look at both again."
        )


def _tub(loop: Loop, derived: Derived, system: System) -> Iterator[str]:
    if is_tub(loop):
        yield (
            "A tub never settles under boiling: it is finished at "
            f"{show(derived.tank_finish_c, 'c', system)}, so that the rest of the fire ends under "
            f"{show(derived.tank_trip_c, 'c', system)}. Nobody is in the water while it burns."
        )
