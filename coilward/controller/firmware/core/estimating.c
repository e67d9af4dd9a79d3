/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/estimating.py; don't
 * edit.
 */
#include "estimating.h"
#include "numbers.h"
#include "interlocks.h"
#include "phases.h"
#include "state.h"

/* Half of the time to boil, never above a typed cap, never below zero. */
static double bounded_window(double still_boil_s, double cap_s)
{
    double half_s = 0.5 * still_boil_s;
    if (half_s > cap_s) {
        half_s = cap_s;
    }
    return (half_s > 0.0) ? half_s : 0.0;
}

/*
 * (there are witnesses of heat and all are known to be under the limit, there are none).
 *
 * A witness that is lost has to be mended first: its silence is no evidence of cold.
 */
void cold_enough(double metal_c, double flue_c, double limit_c, const Constants *constants,
    bool *first, bool *second)
{
    const Fitted *fitted = &constants->fitted;
    const bool unfitted = !fitted->metal && !fitted->flue;
    const bool metal_under = !fitted->metal || (metal_c < limit_c);
    const bool flue_under = !fitted->flue || (flue_c < limit_c);
    *first = metal_under && flue_under && !unfitted;
    *second = unfitted;
}

/*
 * Positive evidence that water stands. What is lost says nothing.
 *
 * Absent pulses are enough. Where pulses are good, lost, or known to lie, it takes two others:
 * one lying current sensor must not stop a pump that pumps.
 */
static bool stands(const Seen *seen, bool meter_dead)
{
    if (seen->flow_absent && !meter_dead) {
        return true;
    }
    int64_t others = 0;
    if (seen->current_bad) {
        others = others + 1;
    }
    if (seen->switch_off) {
        others = others + 1;
    }
    if (seen->radiator_fell) {
        others = others + 1;
    }
    if (seen->metal_high) {
        others = others + 1;
    }
    return others >= 2;
}

/* Phases that meet a stop of the water first with valve and dump opened, while it is wet. */
static bool meets_it_wet(int64_t phase)
{
    return (phase == WARM_UP) || (phase == RUN) || (phase == DUMP) || (phase == SHUTDOWN)
        || (phase == DEGRADED);
}

/* How long the board was off before this start; as long as can be where it is not known. */
double away_s(const Readings *readings)
{
    if ((readings->outage_s >= 0.0) && (readings->outage_s < LONG_AGO_S)) {
        return readings->outage_s;
    }
    return LONG_AGO_S;
}

/* Fire, coil, heat, refill window and minimum flow of this tick. */
void estimate(const Readings *readings, const Requests *requests, const Seen *seen,
    const Mode *mode, const Ages *ages, const Watch *watch, const Constants *constants,
    Estimate *out)
{
    const double tick_s = constants->tick_s;
    const Limits *limits = &constants->limits;
    const Water *water = &constants->water;
    const Fitted *fitted = &constants->fitted;
    const Reckoned *reckoned = &constants->reckoned;

    const bool second_proof = seen->second_proof;
    const bool evidence = seen->current_ok && second_proof && seen->metal_clean;
    bool proven_now = evidence;
    if (!mode->meter_dead) {
        proven_now = seen->flow_good && (seen->current_ok || !fitted->current || (second_proof
            && seen->metal_clean));
    }
    const bool still_known = stands(seen, mode->meter_dead);

    const double rise_k = seen->outlet_c - seen->tank_c;
    const bool proven_before = ages->proof_s >= PROOF_S;
    const bool outlets_known = seen->outlet_a_ok && (seen->outlet_b_ok || !fitted->outlet_b);
    const bool rise_known = outlets_known && seen->tank_ok;
    double heating_s = rise_known ? 0.0 : watch->heating_s;
    double heat_s = ages->heat_s + tick_s;
    if (proven_before && (rise_k > 2.0)) {
        heating_s = watch->heating_s + tick_s;
        heat_s = 0.0;
    }
    const bool hot = (heating_s >= HEATING_S) || (fitted->flue && (readings->flue_c > SMOKE_C))
        || seen->metal_rising || seen->metal_high;
    if (hot || (seen->metal_c > 100.0)) {
        heat_s = 0.0;
    }
    if (heat_s > LONG_AGO_S) {
        heat_s = LONG_AGO_S;
    }
    const bool flue_cool = !fitted->flue || (readings->flue_c < 60.0);
    const bool metal_cool = !fitted->metal || (seen->metal_c < 100.0);
    double cold_s = 0.0;
    const bool cool = (rise_k < 1.0) && flue_cool && metal_cool;
    if (proven_before && proven_now && rise_known && cool) {
        cold_s = ages->cold_s + tick_s;
    }

    int64_t fire = mode->fire;
    if (hot || requests->lit) {
        fire = YES;
    } else if (fire != NO) {
        if ((cold_s >= BURNT_OUT_S) && (heat_s >= BURNT_OUT_LEAST_S)) {
            fire = NO;
        } else if (requests->declare_out && rise_known && ((mode->phase == DRY) || (mode->phase ==
            SHUTDOWN))) {
            bool under_60;
            bool unfitted;
            cold_enough(seen->metal_c, readings->flue_c, 60.0, constants, &under_60, &unfitted);
            if (under_60 || (unfitted && (heat_s >= DECLARED_S))) {
                fire = NO;
            }
        } else {
            /* All stays as it is. */
        }
    } else if ((mode->phase == BOOT) && (ages->phase_s >= 3.0)) {
        fire = UNKNOWN;
    } else {
        /* All stays as it is. */
    }

    double proof_s = ages->proof_s;
    double still_s = ages->still_s;
    if ((mode->phase == BOOT) && (ages->phase_s == 0.0) && (readings->pump_contact < 0.5)) {
        still_s = still_s + away_s(readings);
    }
    const double gap_s = readings->time_s - ages->time_s;
    const bool missed = gap_s > reckoned->missed_s;
    if (proven_now) {
        proof_s = (proof_s < PROOF_S) ? (proof_s + tick_s) : PROOF_S;
        if (proof_s >= PROOF_S) {
            still_s = 0.0;
        }
    } else {
        still_s = still_s + ((missed && (mode->phase != BOOT)) ? gap_s : tick_s);
        if (still_s > LONG_AGO_S) {
            still_s = LONG_AGO_S;
        }
        if (still_s >= GRACE_S) {
            proof_s = 0.0;
        }
    }
    if (fire == NO) {
        still_s = 0.0;
    }
    const bool proven = proof_s >= PROOF_S;

    double heat_now_w = watch->heat_now_w;
    double heat_before_w = watch->heat_before_w;
    double heat_earlier_w = watch->heat_earlier_w;
    double heat_window_s = watch->heat_window_s + tick_s;
    if (heat_window_s >= HEAT_WINDOW_S) {
        heat_earlier_w = heat_before_w;
        heat_before_w = heat_now_w;
        heat_now_w = 0.0;
        heat_window_s = 0.0;
    }
    if (proven && proven_now && seen->steady && (watch->mute_s <= 0.0)) {
        const double carried_w = water->w_per_lpm_k * seen->slow_lpm * rise_k;
        if (carried_w > heat_now_w) {
            heat_now_w = carried_w;
        }
    }
    double largest_w = heat_now_w;
    if (heat_before_w > largest_w) {
        largest_w = heat_before_w;
    }
    if (heat_earlier_w > largest_w) {
        largest_w = heat_earlier_w;
    }
    double heat_w = HEAT_RESERVE * largest_w;
    if (heat_w < reckoned->least_heat_w) {
        heat_w = reckoned->least_heat_w;
    }

    const double room_k = limits->allow_c - seen->tank_c;
    double min_lpm = ENDLESS_LPM;
    if (room_k >= 3.0) {
        min_lpm = heat_w / (water->w_per_lpm_k * room_k);
        if (min_lpm < water->least_lpm) {
            min_lpm = water->least_lpm;
        }
    }

    double window_s = ages->window_s;
    if (proven_now || (fire == NO)) {
        const double start_c = is_known(seen->outlet_c) ? seen->outlet_c : limits->allow_c;
        double still_w = heat_w;
        const bool begun = (mode->came_from == WARM_UP) || (heat_before_w <= 0.0);
        if (begun && (still_w < water->heat_largest_w)) {
            /* What was seen of a fire that has just begun says nothing of what it will be. */
            still_w = water->heat_largest_w;
        }
        window_s = bounded_window((reckoned->boil_j_k * (limits->boil_c - start_c)) / still_w,
            water->window_cap_s);
    }

    const bool low_low = fitted->level && (readings->level_low_low >= 0.5);
    /*
     * Any one of the three that say so is enough: a memory of which a part is damaged stays locked.
     */
    const bool locked = mode->dry || (mode->phase == DRY) || ((mode->latched & LATCH_DRY) != 0U);
    int64_t coil = WET;
    if (locked) {
        coil = MAYBE_DRY;
    } else if (fire == NO) {
        coil = COLD;
    } else if (still_known && ((!proven_now && (seen->metal_high || low_low)
        && !meets_it_wet(mode->phase)) || ((still_s > (2.0 * window_s)) && !evidence))) {
        coil = MAYBE_DRY;
    } else if (still_s > window_s) {
        coil = AT_RISK;
    } else {
        /* All stays as it is. */
    }
    const bool dry = locked || (coil == MAYBE_DRY);
    const bool water_moved = seen->flow_good;
    out->fire = fire;
    out->coil = coil;
    out->dry = dry;
    out->proven_now = proven_now;
    out->proven = proven;
    out->evidence = evidence;
    out->still_known = still_known;
    out->proof_s = proof_s;
    out->still_s = still_s;
    out->window_s = window_s;
    out->rise_k = rise_k;
    out->heat_now_w = heat_now_w;
    out->heat_before_w = heat_before_w;
    out->heat_earlier_w = heat_earlier_w;
    out->heat_window_s = heat_window_s;
    out->heat_w = heat_w;
    out->min_lpm = min_lpm;
    out->heating_s = heating_s;
    out->heat_s = heat_s;
    out->cold_s = cold_s;
    out->water_moved = water_moved;
    out->gap_s = gap_s;
    out->missed = missed;
}
