"""What no logic survives on one loop, and the size of the hardware that has to be there."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from coilward.desk.tripping import Setting
from coilward.loop.derived import DUMP_AIR_C
from coilward.loop.passive import (
    BATTERY_H,
    WHOLE_FIRE,
    prevents_boiling_without_pump,
)
from coilward.loop.soundness import LEAST_QUARTER_S
from coilward.loop.sums import dump
from coilward.loop.topology import LEAST_VENT_BORE_MM
from coilward.loop.units import FOOT_M, System, convert, show
from coilward.loop.water import latent_heat_kj_kg, saturation_kpa
from coilward.simulator.faults import FAULTS
from coilward.simulator.faults.classes import class_of

UNHELD: Final = ("logic plus hardware that only lets the steam out", "nothing helps")


@dataclass(frozen=True)
class Need:
    """One thing that no logic survives, and what has to be there."""

    key: str
    trouble: str
    what: str
    """What holds it, with its size in this loop."""
    here: str
    """What this loop has."""
    held: bool
    """Whether what this loop has is enough on this day."""
    devices: tuple[str, ...] = ()
    """What the catalogue of faults calls it."""


def hanging_on(need: Need, here: Setting) -> list[str]:
    """The faults that this loop would be held against by what is missing, by name."""
    loop, counted = here.loop, here.derived.passive
    return [
        fault.name
        for fault in FAULTS.values()
        if not need.held
        and set(fault.prevents) & set(need.devices)
        and class_of(fault, loop, counted) in UNHELD
    ]


def needs(here: Setting) -> list[Need]:
    """Every need of this loop, in the order in which a person should see to it."""
    return [each(here) for each in (_vent, _still, _supply, _stop, _second_proof, _heat, _quick)]


def _fitted(here: Setting, name: str) -> str:
    device = getattr(here.loop.passive, name)
    if device is None:
        return "not fitted"
    if name in here.derived.passive:
        return f"proven {device.proven}"
    return f"its proof of {device.proven} does not hold"


def _vent(here: Setting) -> Need:
    loop, derived = here.loop, here.derived
    largest_kw = loop.fire.largest_kw
    vent, bore_mm = loop.passive.open_vent, loop.layout.vent_bore_mm
    latent_kj_kg = latent_heat_kj_kg(saturation_kpa(derived.boil_c))
    steam = dump.steam_kg_h(1e3 * largest_kw, latent_kj_kg)
    carries = (vent.carries_kw if vent else None) or 0.0
    known = f", shown to carry {show(carries, 'kw', here.system)}" if carries else ""
    return Need(
        "open-vent",
        "The water stands and the coil boils: shut in, it bursts within seconds.",
        f"An open vent, always rising, freeze-safe, nothing in it that can shut, at least "
        f"{show(LEAST_VENT_BORE_MM, 'mm', here.system)} bore, that carries the steam of "
        f"{show(largest_kw, 'kw', here.system)}: {show(steam, 'kg', here.system)} an hour. It "
        "only lets the steam out; that is never a pass.",
        f"{show(bore_mm, 'mm', here.system)} bore, {_fitted(here, 'open_vent')}{known}",
        "open_vent" in derived.passive
        and bore_mm >= LEAST_VENT_BORE_MM
        and not 0 < carries < largest_kw,
    )


def _still(here: Setting) -> Need:
    loop, system = here.loop, here.system
    largest_kw = loop.fire.largest_kw
    heat_w = 1e3 * largest_kw
    w_k = dump.still_dump_w_k(heat_w, here.derived.coil_boil_c, DUMP_AIR_C)
    mains_lpm = dump.quench_lpm(heat_w, dump.DRAIN_C - dump.MAINS_C)
    have = [
        f"{name.replace('_', ' ')} for {show(device.carries_kw or 0.0, 'kw', system)}, "
        f"{_fitted(here, name)}"
        for name in WHOLE_FIRE
        if (device := getattr(loop.passive, name)) is not None
    ]
    return Need(
        "still-water",
        "The pump is dead, or the way of the water is blocked, with a fire in.",
        f"A gravity dump above the coil that carries {show(largest_kw, 'kw', system)}: about "
        f"{show(w_k, 'w_k', system)}, which is {_pipe(w_k, system)}; or a quench coil of that "
        f"size, with {show(mains_lpm, 'lpm', system)} of mains water from "
        f"{here.temperature(dump.MAINS_C)} to {here.temperature(dump.DRAIN_C)}, opened by heat "
        "alone. Where neither can be built, a smaller fire is what is left.",
        "; ".join(have) or "neither is fitted",
        prevents_boiling_without_pump(loop, here.derived.passive),
        WHOLE_FIRE,
    )


def _pipe(w_k: float, system: System) -> str:
    """The length of finned pipe that gives so much."""
    length, word = convert(w_k / dump.FINNED_W_MK, "m", system)
    metres, each = (1.0, "metre") if system == "si" else (FOOT_M, "foot")
    return (
        f"{length:.0f} {word} of finned pipe at {show(dump.FINNED_W_MK * metres, 'w_k', system)} "
        f"for each {each}"
    )


def _supply(here: Setting) -> Need:
    loop = here.loop
    amperes = loop.pump.current_a + loop.power.board_a
    least_ah, night_ah = 2 * amperes * BATTERY_H, 2 * amperes * 4 * BATTERY_H
    fitted = {name: _fitted(here, name) for name in ("pump_battery", "no_volt_release")}
    return Need(
        "supply",
        "The supply fails for good with a fire in.",
        f"A battery behind pump and board of at least {show(least_ah, 'ah', here.system)} for "
        f"the hour in which a fire burns down ({show(night_ah, 'ah', here.system)} for four "
        "hours), half of it usable, together with a no-volt release.",
        f"{show(loop.power.battery_ah, 'ah', here.system)}; "
        + "; ".join(f"{name.replace('_', ' ')} {words}" for name, words in fitted.items()),
        set(fitted) <= here.derived.passive and loop.power.battery_ah >= least_ah,
        ("pump_battery", "no_volt_release"),
    )


def _stop(here: Setting) -> Need:
    loop, derived = here.loop, here.derived
    if loop.valve.bypass_lpm > 0:
        have = f"a bypass, {here.flow(derived.flow_stop_lpm)} with the valve shut"
    elif loop.valve.stop > 0:
        have = (
            f"stop at {100 * loop.valve.stop:.0f} % passes {here.flow(derived.flow_stop_lpm)}, "
            + _fitted(here, "valve_stop")
        )
    else:
        have = "the valve can shut"
    least_lpm = derived.flow_min_throttled_lpm
    stroke = _stroke_for(here, least_lpm)
    opening = f", which is a stop at {100 * stroke:.0f} %" if stroke is not None else (
        ", more than this loop moves with the valve open"
    )
    return Need(
        "valve-stop",
        "The valve slips, jams or is driven shut with a fire in.",
        f"A mechanical stop, or a bypass without a valve, that passes {here.flow(least_lpm)}"
        f"{opening}. Weigh the water.",
        have,
        (loop.valve.bypass_lpm > 0 or "valve_stop" in derived.passive)
        and derived.flow_stop_lpm >= least_lpm,
        ("valve_stop",),
    )


def _stroke_for(here: Setting, flow_lpm: float) -> float | None:
    """The least stroke that passes a flow, from the installed curve; None where none does."""
    curve = here.derived.valve_curve
    if flow_lpm > curve[-1]:
        return None
    for index, (low, high) in enumerate(pairwise(curve)):
        if flow_lpm <= high:
            return (index + max(0.0, flow_lpm - low) / (high - low)) / 8
    return None


def _second_proof(here: Setting) -> Need:
    loop, derived = here.loop, here.derived
    have = "a flow switch" if loop.sensors.flow_switch else "no flow switch"
    if derived.rule13_in_window:
        have += "; the radiator's outlet in the air stream answers in time"
    return Need(
        "second-proof",
        "The flow meter dies while water moves: without another witness the pump must stop.",
        "A second proof of flow that answers within "
        f"{show(derived.window_largest_s, 's', here.system)}: a flow switch.",
        have,
        loop.sensors.flow_switch or derived.rule13_in_window,
        ("flow_switch",),
    )


def _heat(here: Setting) -> Need:
    derived, system = here.derived, here.system
    has_w_k = here.loop.dump.conductance_w_k if here.loop.dump else 0.0
    needed = show(derived.dump_needed_w_k, "w_k", system)
    return Need(
        "heat",
        "The radiator is dead and the largest fire goes on.",
        f"A dump of {needed} would hold it for ever; a smaller one only buys time for the damper "
        "to end the fire. No damper that falls shut: no time to buy.",
        f"dump {show(has_w_k, 'w_k', system)}; gravity damper {_fitted(here, 'gravity_damper')}",
        has_w_k >= derived.dump_needed_w_k or "gravity_damper" in derived.passive,
    )


def _quick(here: Setting) -> Need:
    quarter_s = here.derived.boil_s.largest.peaked_est / 4
    return Need(
        "quick-coil",
        "Still water boils faster than anything can see and act.",
        f"A quarter of the time to boil of at least {LEAST_QUARTER_S:g} s: a longer coil, or a "
        "smaller fire. Under it only passive hardware counts.",
        f"a quarter is {quarter_s:.1f} s at the largest fire",
        quarter_s >= LEAST_QUARTER_S,
    )


NEVER: Final[tuple[str, ...]] = (
    "A coil shut at both ends: ice, a valve or a check valve on either side. It bursts in seconds.",
    "Cold water that meets a dry, red-hot coil: by gravity, by hand, by a welded relay.",
    "A coil that drains back when the pump stops.",
    "Soft-soldered joints in flame, once dry.",
    "A hose that comes off between pump and coil.",
    "Vent and relief valve blocked at once: snow, wasps, ice, a cap put on by a person.",
    "People who open a cap, pour water, cap a weeping valve.",
    "Every thermometer wrong in the same way.",
)
"""What holds for every loop: no logic, and no hardware named above, survives these."""
