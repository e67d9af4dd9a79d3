"""What a tick leaves behind for the next one: filters, timers, the valve's answer."""

from __future__ import annotations

from coilward.controller.causing import DEAF_STROKE
from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate
from coilward.controller.sensing import FANS_SETTLED_S, Seen
from coilward.controller.state import Control, Watch
from coilward.controller.types import Commands, Readings

IDLE_K = 1.0
LINE_WARM_C = 7.0
OPEN_STROKE = 0.999
RESTORED = 1.05
"""A flow that was short has to exceed its need by this before it counts as enough."""
WEAK_OVER_ROOM_K = 15.0


def short_of_flow(
    readings: Readings, now: Estimate, restored_lpm: float, watch: Watch, constants: Constants
) -> bool:
    """The minimum flow is above what the pump can give at this supply."""
    rated_v = constants.power.rated_v
    supply_v = readings.supply_v if readings.supply_v < rated_v else rated_v
    needed_lpm = restored_lpm if watch.short_s > 0.0 else now.min_lpm
    return constants.reckoned.needs_v_lpm * needed_lpm > supply_v


def radiator_weak(readings: Readings, seen: Seen, watch: Watch, constants: Constants) -> bool:
    """The radiator takes less than half of a lower bound of what it should (1-e^-x > x/(1+x)).

    x is what the radiator takes over what the water carries; both sides times the two together.
    """
    if watch.fans_on_s < FANS_SETTLED_S or not seen.flow_good:
        return False
    over_k = readings.radiator_inlet_c - readings.room_c
    if not (over_k > WEAK_OVER_ROOM_K):
        return False
    takes_w_k = constants.power.radiator_on_w_k
    stream_w_k = constants.water.w_per_lpm_k * seen.flow_lpm
    fall_k = readings.radiator_inlet_c - readings.radiator_outlet_c
    return fall_k * (stream_w_k + takes_w_k) < constants.reckoned.radiator_weak_w_k * over_k


def remember(
    readings: Readings, seen: Seen, now: Estimate, commands: Commands, watch: Watch,
    returned: bool, clean_s: float, held: int, reset_s: float, silence_s: float,
    second_s: float, constants: Constants,
) -> Watch:
    """Filters and timers after a tick."""
    tick_s = constants.tick_s
    reckoned = constants.reckoned
    is_open = commands.valve >= OPEN_STROKE
    open_s = watch.open_s + tick_s if is_open else 0.0
    restored_lpm = RESTORED * now.min_lpm
    enough_lpm = restored_lpm if watch.under_s > 0.0 else now.min_lpm
    flow_under = not seen.flow_absent and not (seen.flow_lpm >= enough_lpm)
    under = open_s > constants.valve.travel_s and flow_under
    known = seen.outlet_a_ok and (seen.outlet_b_ok or not constants.fitted.outlet_b)
    cooled = (
        known
        and seen.tank_ok
        and seen.outlet_c < reckoned.outlet_cooled_c
        and seen.tank_c < reckoned.tank_cooled_c
    )
    mute_s = watch.mute_s - tick_s if watch.mute_s > 0.0 else 0.0
    if returned:
        # At the flow of the opened valve: a weaker flow must not keep the dump waiting.
        mute_s = reckoned.slug_s
    moved = now.still_s <= 0.0 or now.proven_now
    radiator_was_c = readings.radiator_outlet_c if moved else watch.radiator_was_c
    idle = now.proven and now.rise_k < IDLE_K
    both = constants.fitted.radiator_inlet and constants.fitted.radiator_outlet
    weak = both and radiator_weak(readings, seen, watch, constants)
    short = short_of_flow(readings, now, restored_lpm, watch, constants)
    outlet_a_c, outlet_a_odd_s = seen.outlet_a_c, seen.outlet_a_odd_s
    outlet_b_c, outlet_b_odd_s = seen.outlet_b_c, seen.outlet_b_odd_s
    slow_a_c, slow_b_c = seen.slow_a_c, seen.slow_b_c
    slow_metal_c, slow_lpm = seen.slow_metal_c, seen.slow_lpm
    heat_now_w, heat_before_w = now.heat_now_w, now.heat_before_w
    heat_earlier_w, heat_window_s = now.heat_earlier_w, now.heat_window_s
    heating_s = now.heating_s
    idle_s = watch.idle_s + tick_s if idle else 0.0
    short_s = watch.short_s + tick_s if short else 0.0
    under_s = watch.under_s + tick_s if under else 0.0
    weak_s = watch.weak_s + tick_s if weak else 0.0
    pump_on_s = watch.pump_on_s + tick_s if commands.pump else 0.0
    fans_on_s = watch.fans_on_s + tick_s if commands.fans >= OPEN_STROKE else 0.0
    cooled_s = watch.cooled_s + tick_s if cooled else 0.0
    warm_line_s = watch.warm_line_s + tick_s if readings.line_min_c > LINE_WARM_C else 0.0
    return Watch(
        outlet_a_c, outlet_a_odd_s, outlet_b_c, outlet_b_odd_s, slow_a_c, slow_b_c,
        slow_metal_c, slow_lpm, radiator_was_c, heat_now_w, heat_before_w, heat_earlier_w,
        heat_window_s, heating_s, idle_s, open_s, short_s, under_s, weak_s, pump_on_s,
        fans_on_s, cooled_s, warm_line_s, clean_s, held, mute_s, reset_s, silence_s,
        second_s,
    )


def answered(
    deaf: bool, seen: Seen, control: Control, valve: float, moved_s: float, constants: Constants
) -> tuple[float, float]:
    """Stroke and flow from which the next answer of the valve is judged."""
    if moved_s >= constants.reckoned.valve_judged_s:
        settled = seen.steady and seen.flow_good and not deaf
        moved = abs(valve - control.stroke_was) >= DEAF_STROKE
        if settled and (moved or control.flow_was_lpm <= 0.0):
            return valve, seen.flow_lpm
    return control.stroke_was, control.flow_was_lpm
