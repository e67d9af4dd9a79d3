"""From loss of flow to the first boil, and to a dry coil; and how early to trip."""

from __future__ import annotations

import math

from coilward.loop.water import WATER_C_J_KG_K

COPPER_KG_M3 = 8930.0
COPPER_C_J_KG_K = 385.0


def tube_water_l(length_m: float, outside_mm: float, wall_mm: float) -> float:
    """Water in a tube, L."""
    inside_m = (outside_mm - 2 * wall_mm) / 1e3
    return 1e3 * math.pi / 4 * inside_m**2 * length_m


def tube_copper_kg(length_m: float, outside_mm: float, wall_mm: float) -> float:
    """Mass of a copper tube, kg."""
    outside_m, inside_m = outside_mm / 1e3, (outside_mm - 2 * wall_mm) / 1e3
    return math.pi / 4 * (outside_m**2 - inside_m**2) * length_m * COPPER_KG_M3


def coil_heat_j_k(water_kg: float, copper_kg: float) -> float:
    """Heat capacity of the full coil, J/K: metal and water at one temperature."""
    return water_kg * WATER_C_J_KG_K + copper_kg * COPPER_C_J_KG_K


def time_to_boil_s(
    coil_j_k: float, boil_c: float, outlet_c: float, heat_w: float, peak_to_mean: float = 1.0
) -> float:
    """Time from loss of flow to first boil, s; 0 if the outlet is already boiling."""
    return max(0.0, coil_j_k * (boil_c - outlet_c) / (peak_to_mean * heat_w))


def film_ratio(
    copper_kg: float,
    coil_j_k: float,
    rise_k: float,
    flowing_film_k: float,
    still_film_k: float,
) -> float:
    """Factor on the time to boil when the metal runs hotter than the water.

    ``rise_k`` is boiling minus outlet; the films are metal minus water, flowing and standing. The
    metal must first climb from the one film to the other, and that heat is not in the water yet.
    """
    if rise_k <= 0:
        return 1.0
    extra_j = copper_kg * COPPER_C_J_KG_K * (still_film_k - flowing_film_k)
    return 1 + extra_j / (coil_j_k * rise_k)


def dry_to_metal_s(
    copper_kg: float, boil_c: float, metal_c: float, heat_w: float, peak_to_mean: float = 1.0
) -> float:
    """Time in which dry copper climbs from boiling to ``metal_c``, s."""
    return copper_kg * COPPER_C_J_KG_K * (metal_c - boil_c) / (peak_to_mean * heat_w)


def boil_dry_s(water_kg: float, latent_kj_kg: float, heat_w: float) -> float:
    """Time in which standing water boils away quietly, s."""
    return 1e3 * water_kg * latent_kj_kg / heat_w


def surge_k_s(nominal_w: float, largest_w: float, over_s: float, stream_w_k: float) -> float:
    """Slope of the outlet while the heat climbs from nominal to largest, K/s."""
    return (largest_w - nominal_w) / over_s / stream_w_k


def latest_trip_c(limit_c: float, error_k: float, slope_k_s: float, react_s: float) -> float:
    """Latest trip that still acts at the limit: sensor error and reaction taken off."""
    return limit_c - error_k - slope_k_s * react_s


def still_slope_k_s(coil_j_k: float, heat_w: float, peak_to_mean: float) -> float:
    """Rise of the hottest standing water, K/s: the ceiling of any honest outlet slope."""
    return peak_to_mean * heat_w / coil_j_k


def no_flow_evidence_s(
    start_k: float, wanted_k: float, core_tau_s: float, lag_s: float
) -> float:
    """Time in which a thermometer in a standing radiator shows a fall of ``wanted_k``, s.

    The core falls from ``start_k`` above the air with ``core_tau_s``; the thermometer lags.
    """
    if start_k <= wanted_k:
        return math.inf

    def fallen_k(time_s: float) -> float:
        if math.isclose(core_tau_s, lag_s, rel_tol=1e-6):
            left = (1 + time_s / core_tau_s) * math.exp(-time_s / core_tau_s)
        else:
            slow = core_tau_s * math.exp(-time_s / core_tau_s)
            fast = lag_s * math.exp(-time_s / lag_s) if lag_s > 0 else 0.0
            left = (slow - fast) / (core_tau_s - lag_s)
        return start_k * (1 - left)

    early_s, late_s = 0.0, core_tau_s + lag_s
    while fallen_k(late_s) < wanted_k:
        late_s *= 2
    while late_s - early_s > 1e-6 * late_s:
        middle_s = (early_s + late_s) / 2
        early_s, late_s = (
            (middle_s, late_s) if fallen_k(middle_s) < wanted_k else (early_s, middle_s)
        )
    return late_s
