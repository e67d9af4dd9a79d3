"""What the logic makes of it: is there a fire, does the coil hold water, how much flow it needs.

Fire: yes on any sign of heat; no only by burn-out evidence with flow proven, or by a person
at the board; anything else is unknown and treated as yes.
Coil: wet while flow is proven or stood for less than the refill window; may be dry after the
time to boil; the dry latch outlives everything but a person.
"""

from __future__ import annotations

from typing import NamedTuple

from coilward.controller import interlocks as row
from coilward.controller.constants import Constants
from coilward.controller.phases import BOOT, DEGRADED, DRY, DUMP, RUN, SHUTDOWN, WARM_UP
from coilward.controller.sensing import Seen
from coilward.controller.state import (
    AT_RISK,
    COLD,
    LONG_AGO_S,
    MAYBE_DRY,
    NO,
    UNKNOWN,
    WET,
    YES,
    Ages,
    Mode,
    Watch,
)
from coilward.controller.types import Readings, Requests

PROOF_S = 5.0
GRACE_S = 1.0
"""A gap in the proof shorter than this does not undo it."""
HEAT_RESERVE = 1.25
HEAT_WINDOW_S = 300.0
"""Three such windows make the memory of the largest heat: ten to fifteen minutes."""
HEATING_S = 60.0
SMOKE_C = 80.0
BURNT_OUT_S = 1800.0
BURNT_OUT_LEAST_S = 3600.0
DECLARED_S = 4.0 * 3600.0
ENDLESS_LPM = 1e6
"""A minimum flow that nothing can give."""


class Estimate(NamedTuple):
    """What one tick amounts to. Heats in watts, flows in litres a minute."""

    fire: int
    coil: int
    dry: bool
    proven_now: bool
    proven: bool
    evidence: bool
    """Everything but the meter says that water moves."""
    still_known: bool
    """At least one witness that answers says that water stands."""
    proof_s: float
    still_s: float
    window_s: float
    rise_k: float
    """Outlet over tank; NaN when not known."""
    heat_now_w: float
    heat_before_w: float
    heat_earlier_w: float
    heat_window_s: float
    heat_w: float
    min_lpm: float
    heating_s: float
    heat_s: float
    cold_s: float
    water_moved: bool
    """Pulses were seen in this tick."""
    gap_s: float
    """Since the tick before."""
    missed: bool
    """Too long for that: ticks are missing."""


def bounded_window(still_boil_s: float, cap_s: float) -> float:
    """Half of the time to boil, never above a typed cap, never below zero."""
    half_s = 0.5 * still_boil_s
    if half_s > cap_s:
        half_s = cap_s
    return half_s if half_s > 0.0 else 0.0


def cold_enough(
    metal_c: float, flue_c: float, limit_c: float, constants: Constants
) -> tuple[bool, bool]:
    """(there are witnesses of heat and all are known to be under the limit, there are none).

    A witness that is lost has to be mended first: its silence is no evidence of cold.
    """
    fitted = constants.fitted
    unfitted = not fitted.metal and not fitted.flue
    metal_under = not fitted.metal or metal_c < limit_c
    flue_under = not fitted.flue or flue_c < limit_c
    return metal_under and flue_under and not unfitted, unfitted


def stands(seen: Seen, meter_dead: bool) -> bool:
    """Positive evidence that water stands. What is lost says nothing.

    Absent pulses are enough. Where pulses are good, lost, or known to lie, it takes two others:
    one lying current sensor must not stop a pump that pumps.
    """
    if seen.flow_absent and not meter_dead:
        return True
    others = 0
    if seen.current_bad:
        others += 1
    if seen.switch_off:
        others += 1
    if seen.radiator_fell:
        others += 1
    if seen.metal_high:
        others += 1
    return others >= 2


def meets_it_wet(phase: int) -> bool:
    """Phases that meet a stop of the water first with valve and dump opened, while it is wet."""
    return phase in (WARM_UP, RUN, DUMP, SHUTDOWN, DEGRADED)


def away_s(readings: Readings) -> float:
    """How long the board was off before this start; as long as can be where it is not known."""
    if readings.outage_s >= 0.0 and readings.outage_s < LONG_AGO_S:
        return readings.outage_s
    return LONG_AGO_S


def estimate(
    readings: Readings, requests: Requests, seen: Seen, mode: Mode, ages: Ages, watch: Watch,
    constants: Constants,
) -> Estimate:
    """Fire, coil, heat, refill window and minimum flow of this tick."""
    tick_s = constants.tick_s
    limits = constants.limits
    water = constants.water
    fitted = constants.fitted
    reckoned = constants.reckoned

    second_proof = seen.second_proof
    evidence = seen.current_ok and second_proof and seen.metal_clean
    proven_now = evidence
    if not mode.meter_dead:
        proven_now = seen.flow_good and (
            seen.current_ok or not fitted.current or (second_proof and seen.metal_clean)
        )
    still_known = stands(seen, mode.meter_dead)

    rise_k = seen.outlet_c - seen.tank_c
    proven_before = ages.proof_s >= PROOF_S
    outlets_known = seen.outlet_a_ok and (seen.outlet_b_ok or not fitted.outlet_b)
    rise_known = outlets_known and seen.tank_ok
    heating_s = 0.0 if rise_known else watch.heating_s
    heat_s = ages.heat_s + tick_s
    if proven_before and rise_k > 2.0:
        heating_s = watch.heating_s + tick_s
        heat_s = 0.0
    hot = (
        heating_s >= HEATING_S
        or (fitted.flue and readings.flue_c > SMOKE_C)
        or seen.metal_rising
        or seen.metal_high
    )
    if hot or seen.metal_c > 100.0:
        heat_s = 0.0
    if heat_s > LONG_AGO_S:
        heat_s = LONG_AGO_S
    flue_cool = not fitted.flue or readings.flue_c < 60.0
    metal_cool = not fitted.metal or seen.metal_c < 100.0
    cold_s = 0.0
    cool = rise_k < 1.0 and flue_cool and metal_cool
    if proven_before and proven_now and rise_known and cool:
        cold_s = ages.cold_s + tick_s

    fire = mode.fire
    if hot or requests.lit:
        fire = YES
    elif fire != NO:
        if cold_s >= BURNT_OUT_S and heat_s >= BURNT_OUT_LEAST_S:
            fire = NO
        elif requests.declare_out and rise_known and mode.phase in (DRY, SHUTDOWN):
            under_60, unfitted = cold_enough(seen.metal_c, readings.flue_c, 60.0, constants)
            if under_60 or (unfitted and heat_s >= DECLARED_S):
                fire = NO
    elif mode.phase == BOOT and ages.phase_s >= 3.0:
        fire = UNKNOWN

    proof_s = ages.proof_s
    still_s = ages.still_s
    if mode.phase == BOOT and ages.phase_s == 0.0 and readings.pump_contact < 0.5:
        still_s = still_s + away_s(readings)
    gap_s = readings.time_s - ages.time_s
    missed = gap_s > reckoned.missed_s
    if proven_now:
        proof_s = proof_s + tick_s if proof_s < PROOF_S else PROOF_S
        if proof_s >= PROOF_S:
            still_s = 0.0
    else:
        still_s = still_s + (gap_s if missed and mode.phase != BOOT else tick_s)
        if still_s > LONG_AGO_S:
            still_s = LONG_AGO_S
        if still_s >= GRACE_S:
            proof_s = 0.0
    if fire == NO:
        still_s = 0.0
    proven = proof_s >= PROOF_S

    heat_now_w, heat_before_w = watch.heat_now_w, watch.heat_before_w
    heat_earlier_w = watch.heat_earlier_w
    heat_window_s = watch.heat_window_s + tick_s
    if heat_window_s >= HEAT_WINDOW_S:
        heat_earlier_w = heat_before_w
        heat_before_w = heat_now_w
        heat_now_w = 0.0
        heat_window_s = 0.0
    if proven and proven_now and seen.steady and watch.mute_s <= 0.0:
        carried_w = water.w_per_lpm_k * seen.slow_lpm * rise_k
        if carried_w > heat_now_w:
            heat_now_w = carried_w
    largest_w = heat_now_w
    if heat_before_w > largest_w:
        largest_w = heat_before_w
    if heat_earlier_w > largest_w:
        largest_w = heat_earlier_w
    heat_w = HEAT_RESERVE * largest_w
    if heat_w < reckoned.least_heat_w:
        heat_w = reckoned.least_heat_w

    room_k = limits.allow_c - seen.tank_c
    min_lpm = ENDLESS_LPM
    if room_k >= 3.0:
        min_lpm = heat_w / (water.w_per_lpm_k * room_k)
        if min_lpm < water.least_lpm:
            min_lpm = water.least_lpm

    window_s = ages.window_s
    if proven_now or fire == NO:
        start_c = seen.outlet_c if seen.outlet_c == seen.outlet_c else limits.allow_c
        still_w = heat_w
        begun = mode.came_from == WARM_UP or heat_before_w <= 0.0
        if begun and still_w < water.heat_largest_w:
            # What was seen of a fire that has just begun says nothing of what it will be.
            still_w = water.heat_largest_w
        window_s = bounded_window(
            reckoned.boil_j_k * (limits.boil_c - start_c) / still_w, water.window_cap_s
        )

    low_low = fitted.level and readings.level_low_low >= 0.5
    # Any one of the three that say so is enough: a memory of which a part is damaged stays locked.
    locked = mode.dry or mode.phase == DRY or mode.latched & row.LATCH_DRY != 0
    coil = WET
    if locked:
        coil = MAYBE_DRY
    elif fire == NO:
        coil = COLD
    elif still_known and (
        (not proven_now and (seen.metal_high or low_low) and not meets_it_wet(mode.phase))
        or (still_s > 2.0 * window_s and not evidence)
    ):
        coil = MAYBE_DRY
    elif still_s > window_s:
        coil = AT_RISK
    dry = locked or coil == MAYBE_DRY
    water_moved = seen.flow_good
    return Estimate(
        fire, coil, dry, proven_now, proven, evidence, still_known, proof_s, still_s, window_s,
        rise_k, heat_now_w, heat_before_w, heat_earlier_w, heat_window_s, heat_w, min_lpm,
        heating_s, heat_s, cold_s, water_moved, gap_s, missed,
    )
