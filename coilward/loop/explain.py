"""Every derived number with its formula and its reason, in the order in which a person reads."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.loop.states import ESTIMATE, RESERVE
from coilward.loop.trips import is_tub, outlet_error_k


class Line(NamedTuple):
    """One number: ``unit`` is the unit word of `coilward.loop.units.show`."""

    name: str
    value: float
    unit: str
    formula: str
    reason: str


def _boiling(loop: Loop, d: Derived) -> Iterator[Line]:
    yield Line(
        "boiling at the site", d.boil_c, "c",
        "IAPWS-IF97 at the standard atmosphere's pressure for the altitude",
        "Everything hot is judged by its distance to this.",
    )
    yield Line(
        "boiling in the coil", d.coil_boil_c, "c",
        "as above, less the height of the coil's top over the tank's water",
        "With the pump off, water above the tank hangs from it and boils earlier. A coil below "
        "the tank boils later, which is not counted.",
    )
    reserve_k = 13.5 + outlet_error_k(loop)
    yield Line(
        "allowed outlet", d.allow_c, "c",
        f"boiling in the coil - {reserve_k:g} K, or lower if typed",
        f"5 K hot spot, {outlet_error_k(loop):g} K thermometer, 3.5 K surge of a reload, 5 K "
        "reserve.",
    )


def _outlet(_: Loop, d: Derived) -> Iterator[Line]:
    if d.valve_always_open:
        reason = "Without effect: the valve of a tub stays open."
    else:
        reason = "Hot enough to keep the coil dry outside, and below warning, hoses and pump."
    formula = "min(65 °C, warning - 5 K), or lower if typed"
    yield Line("set-point", d.set_point_c, "c", formula, reason)
    yield Line(
        "outlet warning", d.outlet_warn_c, "c", "dump - 5 K",
        "A person can still stop adding wood before the machine dumps heat.",
    )
    yield Line(
        "outlet dump", d.outlet_dump_c, "c",
        "min(allowed - 4 K, hose rating - 5 K, high-high - 5 K)",
        "Sensor lag, surge and travel leave the true outlet at most at the allowed.",
    )
    yield Line(
        "outlet high-high", d.outlet_hh_c, "c",
        "min(boiling - 10 K, boiling - 5 K - thermometer - surge slope x reaction time)",
        "The dump has failed; it latches, and a person has to look.",
    )
    yield Line(
        "outlet slope limit", d.outlet_rate_limit_k_s, "k_s",
        "0.8 x peak/mean x largest heat / heat capacity of the coil",
        "Even standing water rises no faster than 1/0.8 of this: near it something is wrong.",
    )
    yield Line(
        "metal high", d.metal_high_c, "c", "boiling in the coil + 8 K",
        "Metal that is wet inside can't be much hotter than boiling water.",
    )
    yield Line(
        "metal dry", d.metal_dry_c, "c", "fixed",
        "Far above any wet metal: with no flow the coil is dry.",
    )


def _tank(loop: Loop, d: Derived) -> Iterator[Line]:
    formula = "min(allowed - largest heat / (flow x heat of water), pump rating - 5 K, tank - 5 K)"
    if is_tub(loop):
        formula += ", and not over the people limit"
    yield Line(
        "tank warning", d.tank_warn_c, "c",
        "trip - 0.5 K" if is_tub(loop) else "trip - 5 K",
        "Time for a person to act before the trip.",
    )
    yield Line(
        "tank trip", d.tank_trip_c, "c", formula,
        "With a hotter tank the largest fire would bring the outlet over the allowed, with the "
        "valve open and the pump full. It falls as the flow falls.",
    )
    yield Line(
        "tank high-high", d.tank_hh_c, "c", "trip + 2 K" if is_tub(loop) else "trip + 8 K",
        "Shedding heat has failed; it latches.",
    )
    if math.isfinite(d.tank_finish_c):
        yield Line(
            "tub finished", d.tank_finish_c, "c",
            "trip - largest heat x decay of the fire / heat capacity of the tub",
            "After its damper shut, the fire still gives this much heat; people bound the tub.",
        )


def _coil(loop: Loop, d: Derived) -> Iterator[Line]:
    peak = loop.coil.peak_to_mean
    yield Line(
        "water in the coil", d.coil_water_l, "l", "bore and length", "It is all that can boil off.",
    )
    yield Line("its mass", d.coil_water_kg, "kg", "at 70 °C", "Heats up before it boils.")
    yield Line(
        "copper in the coil", d.coil_copper_kg, "kg", "8930 kg/m3", "Heats up with the water.",
    )
    yield Line(
        "heat capacity of the coil", d.coil_heat_j_k, "j_k", "4186 x water + 385 x copper",
        "Metal and water at one temperature.",
    )
    yield Line(
        "heat capacity of the tank", d.tank_heat_j_k, "j_k", "4186 x 0.985 kg/L x water",
        "How slowly the tank follows the fire.",
    )
    for fire, times, film in (
        ("nominal", d.boil_s.nominal, d.film_ratio_nominal),
        ("largest", d.boil_s.largest, d.film_ratio_largest),
    ):
        yield Line(
            f"time to boil without flow, {fire} fire, even", times.uniform, "s",
            "heat capacity of the coil x (boiling - settled outlet) / heat",
            "If every turn took the same heat.",
        )
        yield Line(
            f"time to boil without flow, {fire} fire, hottest turn", times.peaked, "s",
            f"the same / {peak:g}", "The hottest turn boils first; this one counts.",
        )
        yield Line(
            f"what the wall adds to it, {fire} fire", film, "",
            "1 + copper x 385 x (film still - film flowing) / (heat capacity x rise)",
            "The metal runs hotter than the water, and must be heated too. Not counted as a "
            "margin: the wall itself boils earlier than this.",
        )
        for flux, est_s in (("even", times.uniform_est), ("hottest turn", times.peaked_est)):
            yield Line(
                f"reckoned time to boil, {fire} fire, {flux}", est_s, "s",
                f"the same with {ESTIMATE:g} times the heat",
                "Rising fire and an error of the meter; windows and debounces use it.",
            )
    yield Line(
        "time to boil without flow, nominal fire at the set-point", d.boil_s.throttled.peaked, "s",
        "as the hottest turn, from the outlet at the set-point",
        "A throttled outlet is hotter, and so leaves less time.",
    )


def _flows(_: Loop, d: Derived) -> Iterator[Line]:
    yield Line(
        "heat of the flow", d.water_w_per_lpm_k, "w_per_lpm_k", "985 kg/m3 x 4186 J/kg/K / 60000",
        "Heat that 1 L/min carries at a rise of one kelvin.",
    )
    yield Line(
        "flow, valve open", d.flow_open_lpm, "lpm",
        "pump curve = lines (Colebrook) + coil (Schmidt) + fittings + valve (IEC 60534)",
        "The most that the loop can do against heat.",
    )
    yield Line(
        "flow at the stop", d.flow_stop_lpm, "lpm", "the same, valve at its stop, with the bypass",
        "What is left when the valve jams or its horn slips.",
    )
    yield Line(
        "least flow", d.flow_least_lpm, "lpm",
        "max(1 L/min, the meter's lowest, Re 4000 in a straight tube), or higher if typed",
        "Below it the meter is blind or the coil runs laminar and its wall hot.",
    )
    yield Line(
        "flow for Re 4000, straight tube", d.flow_turbulent_lpm, "lpm",
        "15000 x Re x pi x bore x viscosity at 70 °C",
        "Turbulent water takes the heat off the wall.",
    )
    yield Line(
        "flow for turbulence in the coil", d.flow_turbulent_helix_lpm, "lpm",
        "Re 2300 (1 + 8.6 (bore / turn)^0.45), Schmidt",
        "Turns keep the flow laminar for longer; their swirl makes up for most of it.",
    )
    for fire, flow, state in (
        ("nominal", d.flow_min_nominal_lpm, d.settled.nominal),
        ("largest", d.flow_min_largest_lpm, d.settled.largest),
        ("nominal, throttled", d.flow_min_throttled_lpm, d.settled.throttled),
    ):
        yield Line(
            f"minimum flow, {fire} fire", flow, "lpm",
            f"max({ESTIMATE:g} x heat / (heat of the flow x (allowed - tank)), least flow), "
            f"tank {state.tank_c:.1f} °C",
            f"Keeps the outlet at the allowed; the valve keeps {RESERVE:g} times of it.",
        )


def _settling(loop: Loop, d: Derived) -> Iterator[Line]:
    states = [
        ("nominal fire, valve open", d.settled.nominal),
        ("largest fire, valve open", d.settled.largest),
        ("nominal fire, valve at the set-point", d.settled.throttled),
        ("largest fire, fans off", d.settled.fans_off),
        ("largest fire, fans off, dump open", d.settled.fans_off_dump),
    ]
    why = (
        "A tub is judged at its hottest, 1 K below the people limit."
        if is_tub(loop)
        else "Fire held, no losses counted: where it ends, not where it is after an hour."
    )
    for name, state in states:
        if state is None:
            continue
        yield Line(
            f"outlet settles, {name}", state.outlet_c, "c",
            "tub + heat / (m c)" if is_tub(loop) else "air + heat / (effectiveness x m c)", why,
        )
        yield Line(
            f"tank settles, {name}", state.tank_c, "c",
            "people limit - 1 K" if is_tub(loop) else "outlet - heat / (m c)", why,
        )
        yield Line(
            f"flow, {name}", state.flow_lpm, "lpm", "as used for the two above",
            "More flow, cooler outlet, nearly the same heat.",
        )
        yield Line(
            f"time constant, {name}", state.tau_s / 60, "min",
            "tub / its loss" if is_tub(loop) else "tank / (effectiveness x m c)",
            "After this time two thirds of the way are done.",
        )


def _detection(_: Loop, d: Derived) -> Iterator[Line]:
    formula = f"half the time to boil at the hottest turn with {ESTIMATE:g} times the heat"
    yield Line(
        "refill window, nominal fire", d.window_nominal_s, "s", formula + ", from the open valve",
        "A pump that starts later may meet dry copper. The logic reckons it anew each tick.",
    )
    yield Line(
        "refill window, largest fire", d.window_largest_s, "s", formula, "The same, at the worst.",
    )
    yield Line(
        "pulse time-out", d.pulse_timeout_s, "s", "max(1 s, five pulses at the least flow)",
        "One missed edge is no loss of flow.",
    )
    yield Line(
        "low flow debounce", d.low_flow_debounce_s, "s",
        "deadline - time-out - 0.5 s to act, 0.5 to 1 s",
        "A bubble must not trip.",
    )
    yield Line(
        "low flow deadline", d.low_flow_total_s, "s",
        "min(3 s, a quarter of the reckoned time to boil at the largest fire)",
        "From the last water to every action done.",
    )
    yield Line(
        "pump retries", float(d.retries), "", "floor((window - 2.25 s) / 3.5 s), 0 to 2",
        "A stalled rotor often frees; after the window never try.",
    )
    yield Line(
        "standing radiator shows itself after", d.rule13_s, "s",
        "3 K fall from 10 K over the room, core and thermometer lag",
        "The second proof of flow when the meter is dead; needs a thermometer in the air stream. "
        + (
            "It answers inside the shortest window."
            if d.rule13_in_window
            else "It does not answer inside the shortest window: a flow switch is needed."
        ),
    )


def _outside(_: Loop, d: Derived) -> Iterator[Line]:
    for line in d.freeze_s:
        yield Line(
            f"{line.line} line freezes from running", line.running_s / 60, "min",
            "R C ln((T - air) / (0 - air))", "Pump at rest on the design night: time to 0 °C.",
        )
        yield Line(
            f"{line.line} line freezes from 10 °C", line.cool_s / 60, "min", "the same from 10 °C",
            "Ice may block soon after; only the time to 0 °C is promised.",
        )
    yield Line(
        "longest pump rest", d.pump_rest_s / 60, "min", "half of the quickest line from 10 °C",
        "The freeze guard moves the water at least this often.",
    )


def _shedding(_: Loop, d: Derived) -> Iterator[Line]:
    yield Line(
        "dump takes", d.dump_w, "w", "effectiveness x m c x (hottest outlet - 25 °C air)",
        "With the radiator dead.",
    )
    yield Line(
        "dump needed for the largest fire", d.dump_needed_w_k, "w_k",
        "-m c ln(1 - heat / (m c (hottest outlet - 25 °C air)))",
        "Few homes hang that much pipe: stopping the air and an open vent are the real dump.",
    )
    for name, peak_c in (
        ("no dump", d.fans_off_peak_c), ("dump open", d.fans_off_dump_peak_c),
    ):  # fmt: skip
        if peak_c is not None:
            yield Line(
                f"tank's peak after the fans stop, {name}", peak_c, "c",
                "settled at the largest fire, damper shut, heat decays",
                "How far the tank goes when only the damper works.",
            )
    yield Line(
        "boils after, fans off and damper stuck", d.fans_off_stuck_boil_s / 60, "min",
        "outlet on its way from settled to its end without fans, with the dump if fitted",
        "The time a person has when the air can't be stopped.",
    )


def explain(loop: Loop, derived: Derived) -> list[Line]:
    """Every derived number with its formula and its reason."""
    chapters = (
        _boiling, _outlet, _tank, _settling, _flows, _coil, _detection, _shedding, _outside,
    )  # fmt: skip
    return [line for chapter in chapters for line in chapter(loop, derived)]
