/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/valve.py; don't edit.
 */
#include "valve.h"
#include "numbers.h"
#include "causing.h"

const Throttle REST = {.target_lpm = 0.0, .error_k = 0.0, .moved_s = 0.0, .valve = 1.0, .closing =
    false};

/* The clamp: minimum flow with reserve, never under what the stop passes. */
static double lowest_lpm(const Estimate *now, const Constants *constants)
{
    const Water *water = &constants->water;
    double low_lpm = RESERVE * now->min_lpm;
    if (low_lpm < water->stop_lpm) {
        low_lpm = water->stop_lpm;
    }
    return low_lpm;
}

/* One tick of the valve loop in the run phase; a busy tick has no time for a move. */
Throttle throttle(bool entering, bool busy, const Seen *seen, const Estimate *now,
    const Control *control, const Constants *constants)
{
    const double high_lpm = constants->water.open_lpm;
    const double low_lpm = lowest_lpm(now, constants);
    const double error_k = seen->outlet_c - constants->limits.set_point_c;
    double moved_s = control->moved_s + constants->tick_s;
    const bool known = is_known(error_k) && is_known(seen->tank_c) && seen->flow_good;
    if (constants->valve.always_open || (low_lpm >= high_lpm) || !known) {
        return (Throttle){
            .target_lpm = high_lpm,
            .error_k = 0.0,
            .moved_s = moved_s,
            .valve = 1.0,
            .closing = false,
        };
    }
    double target_lpm = control->target_lpm;
    double was_k = control->error_k;
    if (entering) {
        target_lpm = seen->flow_lpm;
        was_k = error_k;
        moved_s = 0.0;
    }
    const bool hurry = target_lpm < low_lpm;
    const Throttling *rule = &constants->throttling;
    const Reckoned *reckoned = &constants->reckoned;
    const double every_s = rule->every_s;
    if (busy || (moved_s < (hurry ? HURRY_S : every_s))) {
        return (Throttle){
            .target_lpm = target_lpm,
            .error_k = was_k,
            .moved_s = moved_s,
            .valve = control->valve,
            .closing = control->closing,
        };
    }

    const double rise_k = (now->rise_k > LEAST_RISE_K) ? now->rise_k : LEAST_RISE_K;
    double unused_lpm = high_lpm - seen->flow_lpm;
    if (unused_lpm < 0.0) {
        unused_lpm = 0.0;
    }
    const double gain = ((rule->gain * seen->flow_lpm) + (rule->gain_slope * unused_lpm)) / rise_k;
    const double reset_s = (rule->reset_transits * seen->transit_s) + reckoned->reset_lag_s;
    if ((magnitude(error_k) > rule->dead_band_k) || (magnitude(error_k
        - was_k) > rule->dead_band_k)) {
        target_lpm = target_lpm + (gain * ((error_k - was_k) + ((error_k * every_s) / reset_s)));
    }
    if (target_lpm < low_lpm) {
        target_lpm = low_lpm;
    }
    if (target_lpm > high_lpm) {
        target_lpm = high_lpm;
    }

    double stroke = control->valve;
    const double more_lpm = installed_lpm(stroke + 0.125, constants);
    const double less_lpm = installed_lpm(stroke - 0.125, constants);
    double slope = 4.0 * (more_lpm - less_lpm);
    if (slope < reckoned->least_slope_lpm) {
        slope = reckoned->least_slope_lpm;
    }
    double step = (target_lpm - seen->flow_lpm) / slope;
    if (step > 0.2) {
        step = 0.2;
    }
    if (step < -0.2) {
        step = -0.2;
    }
    /* The band never keeps a flow under the clamp, nor the last of a flow that is wanted whole. */
    const bool near = magnitude(target_lpm - seen->flow_lpm) < (rule->flow_band * seen->flow_lpm);
    if ((magnitude(step) < LEAST_MOVE) || (near && (low_lpm <= seen->flow_lpm)
        && (target_lpm < high_lpm))) {
        return (Throttle){
            .target_lpm = target_lpm,
            .error_k = error_k,
            .moved_s = 0.0,
            .valve = stroke,
            .closing = false,
        };
    }
    stroke = stroke + step;
    if (stroke > 1.0) {
        stroke = 1.0;
    }
    if (stroke < constants->valve.stop) {
        stroke = constants->valve.stop;
    }
    return (Throttle){
        .target_lpm = target_lpm,
        .error_k = error_k,
        .moved_s = 0.0,
        .valve = stroke,
        .closing = step < 0.0,
    };
}

/* What the servo is told: past the goal at first on the way shut. */
double output_stroke(const Throttle *loop, const Constants *constants)
{
    if (loop->closing && (loop->moved_s < PASS_S)) {
        return loop->valve - constants->valve.backlash;
    }
    return loop->valve;
}
