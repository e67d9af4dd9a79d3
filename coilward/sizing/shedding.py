"""Where the largest fire's heat goes when the radiator is dead: four ways, each by itself."""

from __future__ import annotations

from collections.abc import Iterator

from coilward.loop.derived import DUMP_AIR_C, Derived
from coilward.loop.model import Loop
from coilward.loop.sums import dump
from coilward.loop.units import System, convert, show
from coilward.loop.water import latent_heat_kj_kg, saturation_kpa, steam_density_kg_m3
from coilward.sizing.row import Row

SHEDDING = "Largest fire, radiator dead"
MOST_PIPE_M = 15.0
"""Finned pipe that somebody may really hang (common practice, no source)."""


def pipe_m(derived: Derived) -> float:
    """Finned pipe that takes the largest fire, m."""
    return derived.dump_needed_w_k / dump.FINNED_W_MK


def shedding_rows(loop: Loop, derived: Derived, system: System) -> Iterator[Row]:
    """Pipe, quench water, steam, and the tank as a sink."""
    heat_w = 1e3 * loop.fire.largest_kw
    boil_kpa = saturation_kpa(derived.boil_c)
    steam = dump.steam_kg_h(heat_w, latent_heat_kj_kg(boil_kpa))
    yield Row(
        "dump_needed_w_k", SHEDDING, "dump needed", derived.dump_needed_w_k, "w_k", "less",
        f"at the hottest outlet, air {show(DUMP_AIR_C, 'c', system)}",
    )
    yield Row(
        "dump_pipe_m", SHEDDING, "as finned pipe", pipe_m(derived), "m", "less",
        f"{show(dump.FINNED_W_MK / convert(1.0, 'm', system)[0], 'w_k', system)} for each "
        f"{convert(1.0, 'm', system)[1]} in still air",
    )
    yield Row(
        "dump_fitted_w", SHEDDING, "fitted dump takes", derived.dump_w, "w", "more",
        "" if loop.dump else "no dump is fitted",
    )
    yield Row(
        "quench_lpm", SHEDDING, "or quench water",
        dump.quench_lpm(heat_w, dump.DRAIN_C - dump.MAINS_C), "lpm", "less",
        f"from the mains to a drain, warmed by {show(dump.DRAIN_C - dump.MAINS_C, 'k', system)}",
    )
    yield Row("steam_kg_h", SHEDDING, "or steam out of the vent", steam, "kg_h", "less",
              "only lets the steam out: never a pass")  # fmt: skip
    yield Row(
        "steam_m3_h", SHEDDING, "which is so much room",
        dump.steam_m3_h(steam, steam_density_kg_m3(boil_kpa)), "m3_h", "less",
    )
    rise_k = derived.tank_trip_c - derived.settled.nominal.tank_c
    yield Row(
        "sink_min", SHEDDING, "or the tank alone, for",
        dump.sink_s(derived.tank_heat_j_k, max(0.0, rise_k), heat_w) / 60, "min", "more",
        "from the nominal fire's tank to its trip",
    )
