"""Every number that the controller needs, derived from the loop file and never typed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from coilward.loop.frost import LineFreeze, line_freezes, pump_rest_s
from coilward.loop.hydraulics import SystemCoefficients, coil_bore_m, flow_lpm, system_coefficients
from coilward.loop.model import Device, Loop
from coilward.loop.states import (
    BoilStates,
    SettledStates,
    boil_states,
    film_ratio,
    min_flow_lpm,
    settled_states,
)
from coilward.loop.sums import boil, dump, flow, settle
from coilward.loop.trips import (
    METAL_DRY_C,
    is_tub,
    outlet_limits,
    safer_high,
    safer_low,
    tank_limits,
)
from coilward.loop.water import (
    COIL_MEAN_C,
    WATER_C_J_KG_K,
    WATER_KG_M3,
    density_kg_m3,
    heat_per_lpm_k,
    kinematic_viscosity_m2_s,
)

METER_FLOOR_LPM = 1.0
"""Below this the usual pulse meter is blind."""
DUMP_AIR_C = 25.0
"""Air around the dump in a room that has become warm."""
EVIDENCE_START_K, EVIDENCE_FALL_K = 10.0, 3.0
"""Rule 13 counts from this difference of radiator outlet and room, and at this fall."""
ACT_S = 0.5
"""Left between a debounced loss of flow and its deadline."""


@dataclass(frozen=True)
class Derived:
    """All derived numbers; the unit is the last word of the name."""

    system: SystemCoefficients
    boil_c: float
    """Boiling point at the site's altitude."""
    coil_boil_c: float
    """Boiling point in the coil with the pump off; lower where it stands above the tank's water."""
    allow_c: float
    set_point_c: float
    valve_always_open: bool
    """A tub's valve is never throttled; its set-point has no effect."""
    outlet_warn_c: float
    outlet_dump_c: float
    outlet_hh_c: float
    tank_warn_c: float
    tank_trip_c: float
    tank_hh_c: float
    tank_finish_c: float
    """Tank at which the fire is finished; infinite for rooms."""
    metal_high_c: float
    metal_dry_c: float
    water_w_per_lpm_k: float
    """Heat of 1 L/min at a rise of 1 K, W."""
    coil_water_l: float
    coil_water_kg: float
    coil_copper_kg: float
    coil_heat_j_k: float
    tank_heat_j_k: float
    flow_open_lpm: float
    """Pump at its rated voltage, valve open."""
    valve_curve: tuple[float, ...]
    """Flows, L/min, at strokes 0, 1/8 .. 1; strokes below the stop are not reachable."""
    flow_stop_lpm: float
    """At the stop, with the bypass."""
    flow_least_lpm: float
    """What the meter can see and what keeps the coil turbulent."""
    flow_min_nominal_lpm: float
    flow_min_largest_lpm: float
    """Minimum flow with 1.25 times the heat, at the tank that this fire settles at."""
    flow_min_throttled_lpm: float
    """The same for the nominal fire throttled to the set-point: what the stop has to pass."""
    flow_turbulent_lpm: float
    flow_turbulent_helix_lpm: float
    settled: SettledStates
    boil_s: BoilStates
    film_ratio_nominal: float
    film_ratio_largest: float
    window_nominal_s: float
    window_largest_s: float
    """Time after loss of flow in which a restart is safe: half the time to boil, 1.25 x, peaked."""
    outlet_rate_limit_k_s: float
    pulse_timeout_s: float
    low_flow_debounce_s: float
    low_flow_total_s: float
    retries: int
    """Pump retries that fit in the window of the largest fire."""
    rule13_s: float
    """Time in which a standing radiator shows itself; infinite where it can't."""
    rule13_in_window: bool
    """Rule 13 answers inside the window of the largest fire; else a second proof is needed."""
    freeze_s: tuple[LineFreeze, ...]
    pump_rest_s: float
    dump_w: float
    dump_needed_w_k: float
    """Dump that would take the largest fire with the radiator dead."""
    fans_off_peak_c: float | None
    """Tank's peak: settled at the largest fire, fans stop, damper shuts, no dump."""
    fans_off_dump_peak_c: float | None
    fans_off_stuck_boil_s: float
    """Time to boil with fans off and the damper stuck open; the dump, if fitted, is open."""
    passive: frozenset[str]
    """Passive devices fitted and within their proof on the day asked for."""


class CoilNumbers(NamedTuple):
    """The coil full of water at 70 degC."""

    water_l: float
    water_kg: float
    copper_kg: float
    heat_j_k: float


def coil_numbers(loop: Loop) -> CoilNumbers:
    """Contents and heat capacity of the coil."""
    tube = (loop.coil.length_m, loop.coil.outside_diameter_mm, loop.coil.wall_mm)
    water_l, copper_kg = boil.tube_water_l(*tube), boil.tube_copper_kg(*tube)
    water_kg = water_l * density_kg_m3(COIL_MEAN_C) / 1e3
    return CoilNumbers(water_l, water_kg, copper_kg, boil.coil_heat_j_k(water_kg, copper_kg))


def proven(device: Device | None, today: date) -> bool:
    """A passive device counts only while its last proof is young enough, and not in the future."""
    return device is not None and 0 <= (today - device.proven).days <= device.proof_interval_days


def passive_now(loop: Loop, today: date) -> frozenset[str]:
    """Names of the passive devices that count today."""
    return frozenset(
        name
        for name in type(loop.passive).model_fields
        if proven(getattr(loop.passive, name), today)
    )


def rule13_s(loop: Loop) -> float:
    """Time in which a standing radiator's outlet is seen to fall 3 K with the fans on, s.

    Reckoned from the least difference at which the rule may be used: too short a time would take
    a standing radiator for proof of flow.
    """
    sensor, radiator = loop.sensors.radiator_outlet, loop.radiator
    if sensor is None or radiator is None or not sensor.in_air_stream:
        return math.inf
    water_kg = radiator.water_l * WATER_KG_M3 / 1e3
    core_j_k = water_kg * WATER_C_J_KG_K + 1e3 * radiator.metal_kj_k
    return boil.no_flow_evidence_s(
        EVIDENCE_START_K, EVIDENCE_FALL_K, core_j_k / radiator.fans_on_w_k, sensor.lag_s
    )


class _Timing(NamedTuple):
    window_nominal_s: float
    window_largest_s: float
    pulse_timeout_s: float
    low_flow_debounce_s: float
    low_flow_total_s: float
    retries: int


def _timing(loop: Loop, boils: BoilStates, least_lpm: float) -> _Timing:
    typed_s = loop.limits.refill_window_s
    window_s = safer_low(boils.largest.peaked_est / 2, typed_s)
    timeout_s = max(1.0, 5 * 60 / (loop.meter.pulses_per_litre * least_lpm))
    total_s = min(3.0, boils.largest.peaked_est / 4)
    return _Timing(
        window_nominal_s=safer_low(boils.nominal.peaked_est / 2, typed_s),
        window_largest_s=window_s,
        pulse_timeout_s=timeout_s,
        low_flow_debounce_s=min(1.0, max(0.5, total_s - timeout_s - ACT_S)),
        low_flow_total_s=total_s,
        retries=min(2, max(0, math.floor((window_s - 2.25) / 3.5))),
    )


class _Shedding(NamedTuple):
    dump_w: float
    dump_needed_w_k: float
    fans_off_peak_c: float | None
    fans_off_dump_peak_c: float | None
    fans_off_stuck_boil_s: float


def _shedding(
    loop: Loop, states: SettledStates, stream_w_k: float, tank_j_k: float,
    hottest_c: float, boil_c: float,
) -> _Shedding:  # fmt: skip
    """What is left when the radiator is dead."""
    largest_w = 1e3 * loop.fire.largest_kw
    dump_w_k = loop.dump.conductance_w_k if loop.dump else 0.0
    air_c = max(loop.room.air_c, DUMP_AIR_C)
    still = states.fans_off_dump or states.fans_off

    def peak_c(conductance_w_k: float) -> float:
        peak = settle.peak_after_damper(
            states.largest.tank_c, loop.room.air_c, largest_w, 60 * loop.fire.decay_min,
            conductance_w_k, stream_w_k, tank_j_k,
        )  # fmt: skip
        return peak.tank_c

    off_w_k = loop.radiator.fans_off_w_k if loop.radiator else 0.0
    return _Shedding(
        dump.dump_heat_w(dump_w_k, stream_w_k, hottest_c, air_c),
        dump.dump_needed_w_k(largest_w, stream_w_k, hottest_c, air_c),
        peak_c(off_w_k) if states.fans_off else None,
        peak_c(off_w_k + dump_w_k) if states.fans_off_dump else None,
        settle.time_to_reach_s(still.outlet_c, states.largest.outlet_c, still.tau_s, boil_c)
        if still
        else math.inf,
    )


def derive(loop: Loop, today: date) -> Derived:
    """Derive every number from the loop as built; ``today`` decides which passive device counts.

    A typed limit is used where it is on the safer side of the derived one, else left out;
    ``coilward.loop.limits.refused_limits`` tells which were left out.
    """
    nominal_kw, largest_kw = loop.fire.nominal_kw, loop.fire.largest_kw
    system = system_coefficients(loop)
    open_lpm, stop_lpm = flow_lpm(system, 1.0, 1.0), flow_lpm(system, loop.valve.stop, 1.0)
    stream_w_k = open_lpm * heat_per_lpm_k()
    tank_j_k = loop.tank.water_l * WATER_KG_M3 / 1e3 * WATER_C_J_KG_K
    outlet = outlet_limits(loop, stream_w_k)
    tank = tank_limits(loop, outlet.allow_c, stream_w_k, tank_j_k)
    coil, bore_m = coil_numbers(loop), coil_bore_m(loop.coil)

    viscosity = kinematic_viscosity_m2_s(COIL_MEAN_C)
    helix_re = flow.helix_transition_re(bore_m, loop.coil.turn_diameter_m)
    turbulent_lpm = flow.flow_at_reynolds_lpm(flow.TURBULENT_RE, bore_m, viscosity)
    least_lpm = safer_high(
        max(METER_FLOOR_LPM, loop.meter.lowest_lpm, turbulent_lpm), loop.limits.least_flow_lpm
    )
    states = settled_states(loop, outlet, open_lpm, stop_lpm, least_lpm, tank_j_k)
    boils = boil_states(loop, states, coil.heat_j_k, outlet.coil_boil_c)
    timing = _timing(loop, boils, least_lpm)
    hottest_c = min(outlet.allow_c, tank.trip_c + 1e3 * largest_kw / stream_w_k)
    shedding = _shedding(loop, states, stream_w_k, tank_j_k, hottest_c, outlet.coil_boil_c)
    evidence_s = rule13_s(loop)
    lines = line_freezes(loop, states.nominal)
    ceiling_k_s = boil.still_slope_k_s(coil.heat_j_k, 1e3 * largest_kw, loop.coil.peak_to_mean)
    on_film = (outlet.coil_boil_c, coil.heat_j_k, coil.copper_kg)
    return Derived(
        system=system,
        boil_c=outlet.boil_c,
        coil_boil_c=outlet.coil_boil_c,
        allow_c=outlet.allow_c,
        set_point_c=outlet.set_point_c,
        valve_always_open=is_tub(loop),
        outlet_warn_c=outlet.warn_c,
        outlet_dump_c=outlet.dump_c,
        outlet_hh_c=outlet.hh_c,
        tank_warn_c=tank.warn_c,
        tank_trip_c=tank.trip_c,
        tank_hh_c=tank.hh_c,
        tank_finish_c=tank.finish_c,
        metal_high_c=outlet.coil_boil_c + 8,
        metal_dry_c=METAL_DRY_C,
        water_w_per_lpm_k=heat_per_lpm_k(),
        coil_water_l=coil.water_l,
        coil_water_kg=coil.water_kg,
        coil_copper_kg=coil.copper_kg,
        coil_heat_j_k=coil.heat_j_k,
        tank_heat_j_k=tank_j_k,
        flow_open_lpm=open_lpm,
        valve_curve=tuple(flow_lpm(system, eighth / 8, 1.0) for eighth in range(9)),
        flow_stop_lpm=stop_lpm,
        flow_least_lpm=least_lpm,
        flow_min_nominal_lpm=min_flow_lpm(
            1e3 * nominal_kw, outlet.allow_c, states.nominal.tank_c, least_lpm
        ),
        flow_min_largest_lpm=min_flow_lpm(
            1e3 * largest_kw, outlet.allow_c, states.largest.tank_c, least_lpm
        ),
        flow_min_throttled_lpm=min_flow_lpm(
            1e3 * nominal_kw, outlet.allow_c, states.throttled.tank_c, least_lpm
        ),
        flow_turbulent_lpm=turbulent_lpm,
        flow_turbulent_helix_lpm=flow.flow_at_reynolds_lpm(helix_re, bore_m, viscosity),
        settled=states,
        boil_s=boils,
        film_ratio_nominal=film_ratio(loop, states.nominal, nominal_kw, *on_film),
        film_ratio_largest=film_ratio(loop, states.largest, largest_kw, *on_film),
        **timing._asdict(),
        outlet_rate_limit_k_s=0.8 * ceiling_k_s,
        rule13_s=evidence_s,
        rule13_in_window=evidence_s <= timing.window_largest_s,
        freeze_s=lines,
        pump_rest_s=pump_rest_s(loop, lines),
        **shedding._asdict(),
        passive=passive_now(loop, today),
    )
