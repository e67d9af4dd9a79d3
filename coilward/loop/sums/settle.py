"""Where the loop settles, how fast, and how far it goes when cooling is lost.

``stream_w_k`` is the heat capacity rate of the water, m c, in W/K. All temperatures in degC.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from scipy.optimize import brentq, minimize_scalar


def heat_w(stream_w_k: float, in_c: float, out_c: float) -> float:
    """Heat taken up by a stream between two temperatures, W."""
    return stream_w_k * (out_c - in_c)


def heat_uncertainty(flow_share: float, thermometer_k: float, rise_k: float) -> float:
    """Relative standard uncertainty of the heat: the flow's share, and two thermometers."""
    return math.sqrt(flow_share**2 + 2 * (thermometer_k / rise_k) ** 2)


def effectiveness(conductance_w_k: float, stream_w_k: float) -> float:
    """Share of the way to the air's temperature that the water falls in a radiator."""
    return -math.expm1(-conductance_w_k / stream_w_k)


def radiator_conductance_w_k(in_c: float, out_c: float, air_c: float, stream_w_k: float) -> float:
    """Apparent conductance of a radiator in well mixed air, W/K."""
    return -stream_w_k * math.log(1 - (in_c - out_c) / (in_c - air_c))


def log_mean_k(first_k: float, second_k: float) -> float:
    """Logarithmic mean of two end differences, K."""
    if math.isclose(first_k, second_k):
        return first_k
    return (first_k - second_k) / math.log(first_k / second_k)


class Settled(NamedTuple):
    """Steady state of a loop: outlet and tank, degC, and the tank's time constant, s."""

    outlet_c: float
    tank_c: float
    tau_s: float
    flow_lpm: float


def settled(
    heat_w: float,
    conductance_w_k: float,
    stream_w_k: float,
    air_c: float,
    tank_j_k: float,
    flow_lpm: float = math.nan,
) -> Settled:
    """Where outlet and tank end with the heat held, without losses of lines and tank.

    Conductance and stream must be above zero: without cooling the loop settles nowhere.
    """
    removal_w_k = effectiveness(conductance_w_k, stream_w_k) * stream_w_k
    outlet_c = air_c + heat_w / removal_w_k
    return Settled(outlet_c, outlet_c - heat_w / stream_w_k, tank_j_k / removal_w_k, flow_lpm)


def tank_after_c(final_c: float, start_c: float, tau_s: float, time_s: float) -> float:
    """Temperature of the tank on its way to its end."""
    return final_c - (final_c - start_c) * math.exp(-time_s / tau_s)


def time_to_reach_s(final_c: float, start_c: float, tau_s: float, wanted_c: float) -> float:
    """Time in which the tank passes a temperature; infinite if it never does."""
    if start_c >= wanted_c:
        return 0.0
    if final_c <= wanted_c:
        return math.inf
    return tau_s * math.log((final_c - start_c) / (final_c - wanted_c))


def stream_for_outlet_w_k(
    heat_w: float, conductance_w_k: float, air_c: float, outlet_c: float, most_w_k: float
) -> float:
    """Stream at which the outlet settles at ``outlet_c``, W/K; ``most_w_k`` if that is too hot."""

    def over_k(stream_w_k: float) -> float:
        removal = effectiveness(conductance_w_k, stream_w_k) * stream_w_k
        return air_c + heat_w / removal - outlet_c

    if over_k(most_w_k) >= 0:
        return most_w_k
    least_w_k = heat_w / (outlet_c - air_c) / 2
    return float(brentq(over_k, least_w_k, most_w_k, xtol=1e-9))


class Peak(NamedTuple):
    """Hottest moment of the tank after the damper shut."""

    tank_c: float
    time_s: float


def peak_after_damper(
    tank_c: float,
    air_c: float,
    heat_w: float,
    decay_s: float,
    conductance_w_k: float,
    stream_w_k: float,
    tank_j_k: float,
) -> Peak:
    """Peak of the tank when the damper shuts and only ``conductance_w_k`` still cools.

    The heat falls as exp(-t/decay). With no removal at all the bound is heat x decay / tank.
    """
    eff = effectiveness(conductance_w_k, stream_w_k)
    removal_w_k = eff * stream_w_k
    if removal_w_k <= 0:
        return Peak(tank_c + heat_w * decay_s / tank_j_k, math.inf)
    tau_s = tank_j_k / removal_w_k
    rate_k_s = (1 - eff) * heat_w / tank_j_k
    gap = 1 / tau_s - 1 / decay_s

    def over_air_k(time_s: float) -> float:
        # (exp(-t/decay) - exp(-t/tau)) / gap, in a form that stays exact where the two are alike.
        slow = math.exp(-time_s / tau_s)
        grown_s = math.expm1(gap * time_s) / gap if gap else time_s
        return slow * (tank_c - air_c + rate_k_s * grown_s)

    found = minimize_scalar(
        lambda time_s: -over_air_k(time_s), bounds=(0.0, 6 * decay_s), method="bounded"
    )
    if over_air_k(0.0) >= -found.fun:
        return Peak(tank_c, 0.0)
    return Peak(air_c - float(found.fun), float(found.x))


def rise_without_removal_k(heat_w: float, decay_s: float, tank_j_k: float) -> float:
    """Rise of the tank from all the heat that still comes after the damper shut, K."""
    return heat_w * decay_s / tank_j_k
