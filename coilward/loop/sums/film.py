"""How much hotter the coil's wall runs than its water, with the water flowing and standing."""

from __future__ import annotations

import math

import ht
from scipy.optimize import brentq

from coilward.loop.sums.flow import TURBULENT_RE, reynolds
from coilward.loop.water import (
    GRAVITY_M_S2,
    conductivity_w_m_k,
    expansion_per_k,
    kinematic_viscosity_m2_s,
    prandtl,
)

LAMINAR_RE = 2300.0
LAMINAR_NUSSELT = 48 / 11
"""Even heat flux in a round tube, exact."""


def inner_area_m2(length_m: float, inside_m: float) -> float:
    """Wetted area of a tube, m2."""
    return math.pi * inside_m * length_m


def nusselt_in_tube(number: float, prandtl_number: float) -> float:
    """Nusselt number in a straight tube: laminar, Gnielinski above Re 4000, a line between.

    A helix does better, so that a straight tube errs to the hotter wall.
    """
    if number <= LAMINAR_RE:
        return LAMINAR_NUSSELT

    def gnielinski(at: float) -> float:
        friction = (0.790 * math.log(at) - 1.64) ** -2
        return float(ht.turbulent_Gnielinski(Re=at, Pr=prandtl_number, fd=friction))

    if number >= TURBULENT_RE:
        return gnielinski(number)
    share = (number - LAMINAR_RE) / (TURBULENT_RE - LAMINAR_RE)
    return (1 - share) * LAMINAR_NUSSELT + share * gnielinski(TURBULENT_RE)


def flowing_w_m2_k(flow_lpm: float, inside_m: float, water_c: float) -> float:
    """Film coefficient of flowing water, W/(m2 K)."""
    number = reynolds(flow_lpm, inside_m, kinematic_viscosity_m2_s(water_c))
    return nusselt_in_tube(number, prandtl(water_c)) * conductivity_w_m_k(water_c) / inside_m


def still_w_m2_k(film_k: float, inside_m: float, water_c: float) -> float:
    """Film coefficient of standing water, W/(m2 K).

    Churchill and Chu's horizontal cylinder stands in for the inside of a coil's turn; it was
    made for the outside, and is used here for its order of magnitude.
    """
    viscosity = kinematic_viscosity_m2_s(water_c)
    grashof = (
        GRAVITY_M_S2 * expansion_per_k(water_c) * max(film_k, 1e-6) * inside_m**3 / viscosity**2
    )
    nusselt = ht.Nu_horizontal_cylinder_Churchill_Chu(Pr=prandtl(water_c), Gr=grashof)
    return float(max(nusselt, LAMINAR_NUSSELT)) * conductivity_w_m_k(water_c) / inside_m


def still_film_k(flux_w_m2: float, inside_m: float, water_c: float) -> float:
    """Metal minus standing water at a heat flux, K."""
    return float(
        brentq(
            lambda film: still_w_m2_k(film, inside_m, water_c) * film - flux_w_m2,
            1e-6,
            1 + flux_w_m2 * inside_m / (LAMINAR_NUSSELT * conductivity_w_m_k(water_c)),
        )
    )
