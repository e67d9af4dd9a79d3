/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/remembering.py; don't
 * edit.
 */
#include "remembering.h"
#include "numbers.h"
#include "causing.h"
#include "sensing.h"
#include "state.h"

/* The minimum flow is above what the pump can give at this supply. */
static bool short_of_flow(const Readings *readings, const Estimate *now, double restored_lpm,
    const Watch *watch, const Constants *constants)
{
    const double rated_v = constants->power.rated_v;
    const double supply_v = (readings->supply_v < rated_v) ? readings->supply_v : rated_v;
    const double needed_lpm = (watch->short_s > 0.0) ? restored_lpm : now->min_lpm;
    return (constants->reckoned.needs_v_lpm * needed_lpm) > supply_v;
}

/*
 * The radiator takes less than half of a lower bound of what it should (1-e^-x > x/(1+x)).
 *
 * x is what the radiator takes over what the water carries; both sides times the two together.
 */
static bool radiator_weak(const Readings *readings, const Seen *seen, const Watch *watch,
    const Constants *constants)
{
    if ((watch->fans_on_s < FANS_SETTLED_S) || !seen->flow_good) {
        return false;
    }
    const double over_k = readings->radiator_inlet_c - readings->room_c;
    if (!(over_k > WEAK_OVER_ROOM_K)) {
        return false;
    }
    const double takes_w_k = constants->power.radiator_on_w_k;
    const double stream_w_k = constants->water.w_per_lpm_k * seen->flow_lpm;
    const double fall_k = readings->radiator_inlet_c - readings->radiator_outlet_c;
    return (fall_k * (stream_w_k + takes_w_k)) < (constants->reckoned.radiator_weak_w_k * over_k);
}

/* Filters and timers after a tick. */
void remember(const Readings *readings, const Seen *seen, const Estimate *now,
    const Commands *commands, const Watch *watch, bool returned, double clean_s, uint64_t held,
    double reset_s, double silence_s, double second_s, const Constants *constants, Watch *out)
{
    const double tick_s = constants->tick_s;
    const Reckoned *reckoned = &constants->reckoned;
    const bool is_open = commands->valve >= OPEN_STROKE;
    const double open_s = is_open ? (watch->open_s + tick_s) : 0.0;
    const double restored_lpm = RESTORED * now->min_lpm;
    const double enough_lpm = (watch->under_s > 0.0) ? restored_lpm : now->min_lpm;
    const bool flow_under = !seen->flow_absent && !(seen->flow_lpm >= enough_lpm);
    const bool under = (open_s > constants->valve.travel_s) && flow_under;
    const bool known = seen->outlet_a_ok && (seen->outlet_b_ok || !constants->fitted.outlet_b);
    const bool cooled = known && seen->tank_ok && (seen->outlet_c < reckoned->outlet_cooled_c)
        && (seen->tank_c < reckoned->tank_cooled_c);
    double mute_s = (watch->mute_s > 0.0) ? (watch->mute_s - tick_s) : 0.0;
    if (returned) {
        /* At the flow of the opened valve: a weaker flow must not keep the dump waiting. */
        mute_s = reckoned->slug_s;
    }
    const bool moved = (now->still_s <= 0.0) || now->proven_now;
    const double radiator_was_c = moved ? readings->radiator_outlet_c : watch->radiator_was_c;
    const bool idle = now->proven && (now->rise_k < IDLE_K);
    const bool both = constants->fitted.radiator_inlet && constants->fitted.radiator_outlet;
    const bool weak = both && radiator_weak(readings, seen, watch, constants);
    const bool short_ = short_of_flow(readings, now, restored_lpm, watch, constants);
    const double outlet_a_c = seen->outlet_a_c;
    const double outlet_a_odd_s = seen->outlet_a_odd_s;
    const double outlet_b_c = seen->outlet_b_c;
    const double outlet_b_odd_s = seen->outlet_b_odd_s;
    const double slow_a_c = seen->slow_a_c;
    const double slow_b_c = seen->slow_b_c;
    const double slow_metal_c = seen->slow_metal_c;
    const double slow_lpm = seen->slow_lpm;
    const double heat_now_w = now->heat_now_w;
    const double heat_before_w = now->heat_before_w;
    const double heat_earlier_w = now->heat_earlier_w;
    const double heat_window_s = now->heat_window_s;
    const double heating_s = now->heating_s;
    const double idle_s = idle ? (watch->idle_s + tick_s) : 0.0;
    const double short_s = short_ ? (watch->short_s + tick_s) : 0.0;
    const double under_s = under ? (watch->under_s + tick_s) : 0.0;
    const double weak_s = weak ? (watch->weak_s + tick_s) : 0.0;
    const double pump_on_s = commands->pump ? (watch->pump_on_s + tick_s) : 0.0;
    const double fans_on_s = (commands->fans >= OPEN_STROKE) ? (watch->fans_on_s + tick_s) : 0.0;
    const double cooled_s = cooled ? (watch->cooled_s + tick_s) : 0.0;
    const double warm_line_s = (readings->line_min_c > LINE_WARM_C) ? (watch->warm_line_s + tick_s)
        : 0.0;
    out->outlet_a_c = outlet_a_c;
    out->outlet_a_odd_s = outlet_a_odd_s;
    out->outlet_b_c = outlet_b_c;
    out->outlet_b_odd_s = outlet_b_odd_s;
    out->slow_a_c = slow_a_c;
    out->slow_b_c = slow_b_c;
    out->slow_metal_c = slow_metal_c;
    out->slow_lpm = slow_lpm;
    out->radiator_was_c = radiator_was_c;
    out->heat_now_w = heat_now_w;
    out->heat_before_w = heat_before_w;
    out->heat_earlier_w = heat_earlier_w;
    out->heat_window_s = heat_window_s;
    out->heating_s = heating_s;
    out->idle_s = idle_s;
    out->open_s = open_s;
    out->short_s = short_s;
    out->under_s = under_s;
    out->weak_s = weak_s;
    out->pump_on_s = pump_on_s;
    out->fans_on_s = fans_on_s;
    out->cooled_s = cooled_s;
    out->warm_line_s = warm_line_s;
    out->clean_s = clean_s;
    out->held = held;
    out->mute_s = mute_s;
    out->reset_s = reset_s;
    out->silence_s = silence_s;
    out->second_s = second_s;
}

/* Stroke and flow from which the next answer of the valve is judged. */
void answered(bool deaf, const Seen *seen, const Control *control, double valve, double moved_s,
    const Constants *constants, double *first, double *second)
{
    if (moved_s >= constants->reckoned.valve_judged_s) {
        const bool settled = seen->steady && seen->flow_good && !deaf;
        const bool moved = magnitude(valve - control->stroke_was) >= DEAF_STROKE;
        if (settled && (moved || (control->flow_was_lpm <= 0.0))) {
            *first = valve;
            *second = seen->flow_lpm;
            return;
        }
    }
    *first = control->stroke_was;
    *second = control->flow_was_lpm;
}
