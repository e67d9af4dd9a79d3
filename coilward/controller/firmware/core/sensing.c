/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/sensing.py; don't edit.
 */
#include "sensing.h"
#include "numbers.h"
#include "plausibility.h"

/* Whether a thermometer's value can be one; NaN can't. */
bool in_range(double reading_c)
{
    return (reading_c > LOWEST_C) && (reading_c < HIGHEST_C);
}

/* One outlet thermometer: (believed, value last believed, how long it has been odd). */
static void believe(double reading_c, double last_c, double odd_s, double jump_k, double tick_s,
    bool *first, double *second, double *third)
{
    if (!in_range(reading_c)) {
        *first = false;
        *second = last_c;
        *third = 0.0;
        return;
    }
    if (!in_range(last_c)) {
        if (reading_c == POWER_ON_C) {
            *first = false;
            *second = last_c;
            *third = 0.0;
            return;
        }
        *first = true;
        *second = reading_c;
        *third = 0.0;
        return;
    }
    if ((magnitude(reading_c - last_c) <= jump_k) || (odd_s >= BELIEVED_S)) {
        *first = true;
        *second = reading_c;
        *third = 0.0;
        return;
    }
    *first = false;
    *second = last_c;
    *third = odd_s + tick_s;
}

/* First-order filter that starts at its first value, and takes a share of each that follows. */
double follow(double slow, double value, double share)
{
    if (!is_known(slow)) {
        return value;
    }
    if (!is_known(value)) {
        return slow;
    }
    return slow + ((value - slow) * share);
}

/*
 * All that one tick shows, from its readings and what the eyes remember.
 *
 * A reading that is suspected to be frozen is lost.
 */
void sense(const Readings *readings, uint64_t suspects, const Mode *mode, const Ages *ages,
    const Watch *watch, const Control *control, const Constants *constants, Seen *out)
{
    const double tick_s = constants->tick_s;
    const Fitted *fitted = &constants->fitted;
    const Limits *limits = &constants->limits;
    const Water *water = &constants->water;
    const Shares *shares = &constants->shares;
    const Reckoned *reckoned = &constants->reckoned;
    const double nan = NOT_KNOWN;

    const double jump_k = (watch->mute_s > 0.0) ? 1000000000.0 : limits->outlet_jump_k;
    bool outlet_a_ok;
    double outlet_a_c;
    double outlet_a_odd_s;
    believe(readings->coil_outlet_a_c, watch->outlet_a_c, watch->outlet_a_odd_s, jump_k, tick_s,
        &outlet_a_ok, &outlet_a_c, &outlet_a_odd_s);
    bool outlet_b_ok = false;
    double outlet_b_c = watch->outlet_b_c;
    double outlet_b_odd_s = watch->outlet_b_odd_s;
    if (fitted->outlet_b) {
        believe(readings->coil_outlet_b_c, watch->outlet_b_c, watch->outlet_b_odd_s, jump_k, tick_s,
            &outlet_b_ok, &outlet_b_c, &outlet_b_odd_s);
    }
    if ((suspects & OUTLET_A_FROZEN) != 0U) {
        outlet_a_ok = false;
    }
    if ((suspects & OUTLET_B_FROZEN) != 0U) {
        outlet_b_ok = false;
    }
    double outlet_c = nan;
    double rising_k = 0.0;
    double slow_a_c = watch->slow_a_c;
    double slow_b_c = watch->slow_b_c;
    if (outlet_a_ok) {
        outlet_c = outlet_a_c;
        slow_a_c = follow(slow_a_c, outlet_a_c, shares->slope);
        rising_k = outlet_a_c - slow_a_c;
    }
    if (outlet_b_ok) {
        if (!(outlet_c >= outlet_b_c)) {
            outlet_c = outlet_b_c;
        }
        slow_b_c = follow(slow_b_c, outlet_b_c, shares->slope);
        const double rising_b_k = outlet_b_c - slow_b_c;
        if (rising_b_k > rising_k) {
            rising_k = rising_b_k;
        }
    }
    double apart_k = 0.0;
    if (outlet_a_ok && outlet_b_ok) {
        apart_k = magnitude(outlet_a_c - outlet_b_c);
    }

    const double radiator_c = readings->radiator_outlet_c;
    const bool radiator_known = fitted->radiator_outlet && in_range(radiator_c);
    double tank_c = readings->tank_c;
    const bool tank_ok = in_range(tank_c) && ((suspects & TANK_FROZEN) == 0U);
    if (!tank_ok) {
        tank_c = radiator_known ? (radiator_c + 2.0) : nan;
    }

    double flow_lpm = readings->flow_lpm;
    const double age_s = readings->pulse_age_s;
    if (age_s > 0.0) {
        const double capped_lpm = water->lpm_s / age_s;
        if (capped_lpm < flow_lpm) {
            flow_lpm = capped_lpm;
        }
    } else if (!is_known(age_s)) {
        flow_lpm = nan;
    } else {
        /* All stays as it is. */
    }
    if (!(flow_lpm <= POSSIBLE_LPM)) {
        flow_lpm = nan;
    }
    const bool flow_absent = (flow_lpm < TRUSTED_LPM) || (age_s > water->pulse_timeout_s);
    const bool flow_good = is_known(flow_lpm) && !flow_absent;
    const double transit_s = reckoned->coil_lpm_s / (flow_good ? flow_lpm : TRUSTED_LPM);
    const double slow_lpm = follow(watch->slow_lpm, flow_lpm, tick_s / (reckoned->lag_and_tick_s
        + transit_s));
    const bool steady = magnitude(flow_lpm - slow_lpm) <= (0.1 * flow_lpm);

    const double pump_a = readings->pump_a;
    const bool settled = control->pump && (watch->pump_on_s >= INRUSH_S) && fitted->current;
    const Power *power = &constants->power;
    const bool current_bad = settled && ((pump_a < power->pump_low_a)
        || (pump_a > power->pump_high_a));
    const bool current_ok = settled && is_known(pump_a) && !current_bad;
    const double switch_ = readings->flow_switch;
    const bool switch_off = fitted->switch_ && (switch_ < 0.5);
    const bool switch_on = fitted->switch_ && is_known(switch_) && !switch_off;

    const double metal_c = fitted->metal ? readings->coil_metal_c : nan;
    const double slow_metal_c = follow(watch->slow_metal_c, metal_c, shares->metal);
    const bool metal_high = metal_c > limits->metal_high_c;
    const bool metal_clean = !metal_high;
    const bool metal_rising = ((metal_c - slow_metal_c) > 2.0) && (metal_c > (tank_c + 5.0));

    bool radiator_fell = false;
    bool radiator_steady = false;
    if (radiator_known && (watch->fans_on_s >= FANS_SETTLED_S)) {
        const double was_c = watch->radiator_was_c;
        const double room_c = readings->room_c;
        if ((was_c - room_c) >= RADIATOR_OVER_ROOM_K) {
            radiator_fell = (was_c - radiator_c) >= FALL_K;
            radiator_steady = (ages->still_s >= water->rule13_s) && !radiator_fell;
        }
        if (mode->meter_dead && ((radiator_c - room_c) >= RADIATOR_STILL_WARM_K)) {
            radiator_steady = true;
        }
    }
    const bool second_proof = switch_on || radiator_steady;
    out->outlet_c = outlet_c;
    out->outlet_a_ok = outlet_a_ok;
    out->outlet_b_ok = outlet_b_ok;
    out->outlet_a_c = outlet_a_c;
    out->outlet_a_odd_s = outlet_a_odd_s;
    out->outlet_b_c = outlet_b_c;
    out->outlet_b_odd_s = outlet_b_odd_s;
    out->slow_a_c = slow_a_c;
    out->slow_b_c = slow_b_c;
    out->rising_k = rising_k;
    out->apart_k = apart_k;
    out->tank_c = tank_c;
    out->tank_ok = tank_ok;
    out->flow_lpm = flow_lpm;
    out->transit_s = transit_s;
    out->slow_lpm = slow_lpm;
    out->flow_good = flow_good;
    out->flow_absent = flow_absent;
    out->current_ok = current_ok;
    out->current_bad = current_bad;
    out->switch_on = switch_on;
    out->switch_off = switch_off;
    out->metal_c = metal_c;
    out->metal_rising = metal_rising;
    out->slow_metal_c = slow_metal_c;
    out->metal_high = metal_high;
    out->metal_clean = metal_clean;
    out->radiator_known = radiator_known;
    out->radiator_steady = radiator_steady;
    out->radiator_fell = radiator_fell;
    out->second_proof = second_proof;
    out->steady = steady;
}
