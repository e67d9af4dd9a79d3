"""Pump, valve and pipes: the full sum once, then a cheap model that everybody shares.

``system_coefficients`` runs the full sum (Colebrook in the lines, Schmidt's helix in the coil)
and fits it to a linear and a quadratic resistance. Derived numbers and the plant simulator use the
same coefficients, so that they agree by construction; a test holds them to the full sum.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import fluids
import numpy as np
from scipy.optimize import brentq, nnls

from coilward.loop.model import Coil, Line, Loop, Pump
from coilward.loop.sums.flow import reynolds
from coilward.loop.water import WATER_KG_M3, kinematic_viscosity_m2_s

ROUGHNESS_M = 1.5e-6
"""Drawn copper and plastic pipe (common practice, no source)."""
LOOP_C = 55.0
"""Mean water temperature for the viscosity in the loop."""
LEAST_RATED_LPM = 0.1
"""Stands for the rated flow where the losses leave the pump none."""


class SystemCoefficients(NamedTuple):
    """Heads in kPa, flows in L/min, ``speed`` = voltage / rated voltage.

    pump: ``head0 speed^2 + head1 speed V + head2 V^2``; loop without the valve:
    ``loop1 V + loop2 V^2``; valve and bypass by their flow coefficients, m3/h at 1 bar.
    """

    head0_kpa: float
    head1: float
    head2: float
    loop1: float
    loop2: float
    kvs_m3h: float
    rangeability: float
    crack_open: float
    bypass_kv_m3h: float


def kv_m3h(flow_m3h: float, drop_bar: float, density_kg_m3: float) -> float:
    """Flow coefficient Kv, m3/h (IEC 60534-2-1: turbulent, not choked, no fittings attached)."""
    return flow_m3h * math.sqrt(density_kg_m3 / 1000 / drop_bar)


def valve_kpa_per_lpm2(kv: float) -> float:
    """Quadratic resistance of a flow coefficient, kPa per (L/min)^2; infinite when shut."""
    if kv <= 0:
        return math.inf
    return 100 * WATER_KG_M3 / 1000 * (0.06 / kv) ** 2


def inherent_kv_m3h(stroke: float, kvs: float, rangeability: float, crack_open: float) -> float:
    """Equal-percentage inherent curve; fully shut below the stroke at which it cracks open."""
    if stroke < crack_open or stroke <= 0:
        return 0.0
    return float(kvs * rangeability ** (min(stroke, 1.0) - 1))


def pump_polynomial(pump: Pump) -> tuple[float, float, float]:
    """Least-squares head0, head1, head2 of the curve; neither slope may rise with flow."""
    flows = np.array([point.flow_lpm for point in pump.curve])
    heads = np.array([point.head_kpa for point in pump.curve])
    head0, fall1, fall2 = nnls(np.column_stack([flows**0, -flows, -(flows**2)]), heads)[0]
    return float(head0), -float(fall1), -float(fall2)


def tube_kpa(flow_lpm: float, length_m: float, inside_m: float, turn_m: float | None) -> float:
    """Friction in a straight tube (Colebrook) or a helix (Schmidt), kPa."""
    if flow_lpm <= 0:
        return 0.0
    speed = flow_lpm / 60000 / (math.pi / 4 * inside_m**2)
    number = reynolds(flow_lpm, inside_m, kinematic_viscosity_m2_s(LOOP_C))
    if turn_m is None:
        factor = fluids.friction_factor(Re=number, eD=ROUGHNESS_M / inside_m)
    else:
        factor = fluids.friction_factor_curved(
            Re=number, Di=inside_m, Dc=turn_m, roughness=ROUGHNESS_M
        )
    return float(factor * length_m / inside_m * WATER_KG_M3 * speed**2 / 2 / 1000)


def coil_kpa(flow_lpm: float, coil: Coil) -> float:
    """Friction in the coil, kPa."""
    return tube_kpa(flow_lpm, coil.length_m, coil_bore_m(coil), coil.turn_diameter_m)


def coil_bore_m(coil: Coil) -> float:
    """Inside diameter of the coil's tube, m."""
    return (coil.outside_diameter_mm - 2 * coil.wall_mm) / 1e3


def line_kpa(flow_lpm: float, line: Line) -> float:
    """Friction in a line without its fittings, kPa."""
    return tube_kpa(flow_lpm, line.length_m, line.inside_diameter_mm / 1e3, None)


def all_lines(loop: Loop) -> tuple[Line, Line, Line]:
    """The cold, the hot and the back line."""
    return loop.lines.cold, loop.lines.hot, loop.lines.back


def friction_kpa(flow_lpm: float, loop: Loop) -> float:
    """Friction in lines and coil by the full sum, kPa; fittings, radiator and valve apart."""
    return coil_kpa(flow_lpm, loop.coil) + sum(
        line_kpa(flow_lpm, line) for line in all_lines(loop)
    )


def fittings_kpa(loop: Loop) -> float:
    """What fittings and radiator take at the rated flow, kPa."""
    return sum(line.loss_kpa for line in all_lines(loop)) + (
        loop.radiator.loss_kpa if loop.radiator else 0.0
    )


def rated_flow_lpm(loop: Loop) -> float:
    """Flow at the rated voltage with the valve open, by the full sum, without the bypass.

    This is the flow at which the file's losses of fittings and radiator are meant.
    """
    head0, head1, head2 = pump_polynomial(loop.pump)
    valve = valve_kpa_per_lpm2(loop.valve.kvs_m3h)

    def spare_kpa(flow: float) -> float:
        head = head0 + head1 * flow + head2 * flow**2
        return head - fittings_kpa(loop) - friction_kpa(flow, loop) - valve * flow**2

    if spare_kpa(LEAST_RATED_LPM) <= 0:
        return LEAST_RATED_LPM
    too_much = 1.0
    while spare_kpa(too_much) > 0:
        too_much *= 2
    return float(brentq(spare_kpa, LEAST_RATED_LPM, too_much, xtol=1e-9))


def system_coefficients(loop: Loop) -> SystemCoefficients:
    """The cheap model, fitted to the full sum from a tenth to 1.1 times the rated flow."""
    head0, head1, head2 = pump_polynomial(loop.pump)
    rated = rated_flow_lpm(loop)
    flows = np.linspace(0.1, 1.1, 21) * rated
    friction = np.array([friction_kpa(float(flow), loop) for flow in flows])
    # Divided by the square root of the friction: small flows count, but less than large ones.
    weight = 1 / np.sqrt(friction)
    columns = np.column_stack([flows, flows**2]) * weight[:, None]
    loop1, friction2 = nnls(columns, friction * weight)[0]
    loop2 = float(friction2) + fittings_kpa(loop) / rated**2
    valve = loop.valve
    bypass_kv = 0.0
    if valve.bypass_lpm > 0:
        flow = valve.bypass_lpm
        drop = head0 + (head1 - float(loop1)) * flow + (head2 - loop2) * flow**2
        # A bypass said to pass more than the pump can push is taken as a plain open pipe.
        bypass_kv = 0.06 * flow * math.sqrt(100 * WATER_KG_M3 / 1000 / max(drop, 0.01))
    return SystemCoefficients(
        head0, head1, head2, float(loop1), loop2,
        valve.kvs_m3h, valve.rangeability, valve.crack_open, bypass_kv,
    )  # fmt: skip


def flow_lpm(system: SystemCoefficients, stroke: float, speed: float) -> float:
    """Flow with the valve at ``stroke`` and the pump at ``speed``, L/min: a quadratic's root."""
    kv = system.bypass_kv_m3h + inherent_kv_m3h(
        stroke, system.kvs_m3h, system.rangeability, system.crack_open
    )
    if kv <= 0 or speed <= 0:
        return 0.0
    head = system.head0_kpa * speed**2
    linear = system.loop1 - system.head1 * speed
    square = system.loop2 - system.head2 + valve_kpa_per_lpm2(kv)
    # This form of the root stays exact where the quadratic term is small.
    return 2 * head / (linear + math.sqrt(linear**2 + 4 * square * head))


def stroke_for_flow(system: SystemCoefficients, wanted_lpm: float, speed: float = 1.0) -> float:
    """Least stroke that passes at least ``wanted_lpm``; 1 if the open valve passes less."""
    if flow_lpm(system, 1.0, speed) <= wanted_lpm:
        return 1.0
    shut, passing = 0.0, 1.0
    if flow_lpm(system, shut, speed) >= wanted_lpm:
        return shut
    while passing - shut > 1e-6:
        middle = (shut + passing) / 2
        if flow_lpm(system, middle, speed) < wanted_lpm:
            shut = middle
        else:
            passing = middle
    return passing
