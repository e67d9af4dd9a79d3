"""Heat wanted against heat caught; how long a tub takes; the wood that this costs."""

from __future__ import annotations

import math
from collections.abc import Iterator

from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.sums import dump, settle, wood
from coilward.loop.trips import is_tub
from coilward.loop.units import System, show
from coilward.sizing.row import Row

HEAT, WOOD = "Heat wanted and caught", "Wood"
NIGHT_H = 8.0


def heat_rows(loop: Loop, derived: Derived, _: System) -> Iterator[Row]:
    """What the room or the tub wants, and what the fire gives."""
    yield from _tub(loop, derived) if is_tub(loop) else _room(loop)
    yield Row(
        "stream_w_per_lpm_k", HEAT, "each flow carries", derived.water_w_per_lpm_k,
        "w_per_lpm_k",
    )


def wanted_w(loop: Loop) -> float:
    """Heat that holds the room at its temperature on the design night, W."""
    return max(0.0, loop.room.heat_loss_w_k * (loop.room.air_c - loop.site.outdoor_c))


def _room(loop: Loop) -> Iterator[Row]:
    room, caught_w = loop.room, 1e3 * loop.fire.nominal_kw
    yield Row(
        "loss_w_k", HEAT, "room loses", room.heat_loss_w_k, "w_k",
    )
    if room.envelope:
        yield Row(
            "envelope_w_k", HEAT, "by surfaces and air", room.envelope.loss_w_k, "w_k",
            note="area x U, and the air that leaks",
        )
    yield Row(
        "wanted_w", HEAT, "wanted, design night", wanted_w(loop), "w", "less",
        "loss x (room less outdoor)",
    )
    yield Row("caught_w", HEAT, "caught, nominal fire", caught_w, "w", "more")
    yield Row(
        "spare_w", HEAT, "caught less wanted", caught_w - wanted_w(loop), "w", "more",
        "before the losses of the lines",
    )
    yield Row(
        "held_air_c", HEAT, "room that this heat holds",
        loop.site.outdoor_c + caught_w / room.heat_loss_w_k, "c", note="outdoor + caught / loss",
    )


def _tub(loop: Loop, derived: Derived) -> Iterator[Row]:
    caught_w, start_c = 1e3 * loop.fire.nominal_kw, loop.tank.start_c
    finish_c = derived.tank_finish_c
    yield Row("caught_w", HEAT, "caught, nominal fire", caught_w, "w", "more")
    yield Row("finish_c", HEAT, "fire has to be finished at", finish_c, "c", "more",
              "the rest of the fire still comes")  # fmt: skip
    yield Row(
        "heat_up_without_loss_s", HEAT, "heat-up without any loss",
        dump.sink_s(derived.tank_heat_j_k, max(0.0, finish_c - start_c), caught_w) / 3600, "h",
        "less", "from the tub's start",
    )
    yield Row(
        "heat_up_s", HEAT, "heat-up with the tub's loss", heat_up_s(loop, derived) / 3600, "h",
        "less", "with the loss of the file, which is meant with the lid on",
    )


def heat_up_s(loop: Loop, derived: Derived) -> float:
    """Time from the tub's start to the end of its fire, with its loss, s."""
    loss_w_k, heat_w = loop.tank.loss_w_k, 1e3 * loop.fire.nominal_kw
    start_c, finish_c = loop.tank.start_c, derived.tank_finish_c
    if loss_w_k <= 0:
        return dump.sink_s(derived.tank_heat_j_k, max(0.0, finish_c - start_c), heat_w)
    tau_s = derived.tank_heat_j_k / loss_w_k
    return settle.time_to_reach_s(loop.room.air_c + heat_w / loss_w_k, start_c, tau_s, finish_c)


def wood_rows(loop: Loop, _: Derived, system: System) -> Iterator[Row]:
    """Wood at the nominal fire."""
    fire = loop.fire
    net = wood.net_j_kg(fire.moisture)
    rate_kg_h = wood.wood_kg_h(1e3 * fire.nominal_kw, fire.caught, net)
    about = f"at {100 * fire.moisture:.0f} % moisture, {show(net, 'j_kg', system)}"
    yield Row("wood_kg_h", WOOD, "wood at the nominal fire", rate_kg_h, "kg_h", "less", about)
    yield Row("wood_night_kg", WOOD, f"wood for a night of {NIGHT_H:.0f} h", NIGHT_H * rate_kg_h,
              "kg", "less")  # fmt: skip
    yield Row(
        "fire_w", WOOD, "fire's own power", 1e3 * fire.nominal_kw / fire.caught, "w",
        note=f"{100 * fire.caught:.0f} % of it is caught; weigh the wood to know",
    )


def differs(typed_w_k: float, envelope_w_k: float) -> float:
    """How far the typed loss is from that of the surfaces, as a share of the latter."""
    return typed_w_k / envelope_w_k - 1 if envelope_w_k > 0 else math.inf
