"""Loops for the tests: the shipped ones, and changes to them by dotted attribute."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from scipy.integrate import solve_ivp

from coilward.loop.document import read_loop
from coilward.loop.model import Loop
from coilward.loop.sums.boil import coil_heat_j_k, tube_copper_kg, tube_water_l
from coilward.loop.units import Section
from coilward.loop.water import density_kg_m3, heat_per_lpm_k

TODAY = date(2026, 11, 25)


@cache
def shipped(name: str) -> Loop:
    return read_loop(name)


def changed(section: Any, **changes: Any) -> Any:
    """A copy with attributes changed: ``changed(loop, coil__length_m=12.0)``.

    Values are not validated again: some tests need what a file would be refused for.
    """
    for dotted, value in changes.items():
        first, _, rest = dotted.partition("__")
        inner = getattr(section, first)
        assert not rest or isinstance(inner, Section), dotted
        new = changed(inner, **{rest: value}) if rest else value
        section = section.model_copy(update={first: new})
    return section


@dataclass(frozen=True)
class Reference:
    """A reference loop of the worked examples: coil, flow, boiling point."""

    length_m: float
    outside_mm: float
    wall_mm: float
    flow_lpm: float
    boil_c: float
    nominal_w: float
    largest_w: float

    @property
    def bore_m(self) -> float:
        return (self.outside_mm - 2 * self.wall_mm) / 1e3

    @property
    def water_l(self) -> float:
        return tube_water_l(self.length_m, self.outside_mm, self.wall_mm)

    @property
    def copper_kg(self) -> float:
        return tube_copper_kg(self.length_m, self.outside_mm, self.wall_mm)

    @property
    def coil_j_k(self) -> float:
        return coil_heat_j_k(self.water_l * density_kg_m3(70) / 1e3, self.copper_kg)

    def stream_w_k(self, density: float) -> float:
        return self.flow_lpm * heat_per_lpm_k(density)


REFERENCES = {
    "A": Reference(15, 15, 0.7, 3, 98.98, 5e3, 8e3),
    "B": Reference(20, 22, 0.9, 8, 96.65, 12e3, 18e3),
    "C": Reference(12, 12.7, 0.8, 6, 99.97, 9e3, 14e3),
}


def reference_loop_a() -> Loop:
    """Loop A as a file: the boathouse with A's tank and radiator, and a pump that moves 3 L/min."""
    boathouse = shipped("boathouse")
    weak = [
        point.model_copy(update={"head_kpa": point.head_kpa * 0.212})
        for point in boathouse.pump.curve
    ]
    losses = {
        f"lines__{name}__loss_kpa": getattr(boathouse.lines, name).loss_kpa / 4
        for name in ("cold", "hot", "back")
    }
    return changed(
        boathouse,
        **losses,
        radiator__loss_kpa=1.0,
        tank__water_l=100.0,
        radiator__fans_on_w_k=120.0,
        radiator__fans_off_w_k=15.0,
        pump__curve=weak,
    )


def ode_tank(heat, ua, stream, air, tank_j_k, start, times):
    """Second method: tank and radiator as a differential equation, not as its solution."""

    def slope(time, state):
        hot = state[0] + heat(time) / stream
        back = air + (hot - air) * math.exp(-ua / stream)
        return [stream * (back - state[0]) / tank_j_k]

    run = solve_ivp(slope, (0, times[-1]), [start], t_eval=times, rtol=1e-9, atol=1e-9)
    return run.y[0]
