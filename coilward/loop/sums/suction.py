"""Whether hot water still reaches the pump as water."""

from __future__ import annotations

from coilward.loop.water import GRAVITY_M_S2, density_kg_m3, saturation_kpa


def suction_head_m(pressure_kpa: float, water_c: float, above_m: float, loss_m: float) -> float:
    """Net positive suction head at the pump, metres of the hot water.

    ``pressure_kpa`` is the air's, ``above_m`` the water's surface over the pump (less than zero
    for a lift), ``loss_m`` what the suction line takes.
    """
    metre_kpa = density_kg_m3(water_c) * GRAVITY_M_S2 / 1e3
    return (pressure_kpa - saturation_kpa(water_c)) / metre_kpa + above_m - loss_m
