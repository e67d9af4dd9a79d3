/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/doubting.py; don't
 * edit.
 */
#include "doubting.h"
#include "numbers.h"
#include "causing.h"
#include "plausibility.h"
#include "reckoned.h"
#include "sensing.h"
#include "state.h"

/*
 * Whether a fitted channel that guards, but that no vote rests on, does not answer.
 *
 * A radiator without a fire may be colder than any water.
 */
static bool guard_lost(const Readings *readings, const Seen *seen, int64_t fire,
    const Constants *constants)
{
    const Fitted *fitted = &constants->fitted;
    return (fitted->damper_switch && !is_known(readings->damper_shut)) || (fitted->co
        && !is_known(readings->co_ppm)) || (fitted->smoke && !is_known(readings->smoke))
        || (fitted->vent && !is_known(readings->vent_wet)) || (fitted->line
        && !is_known(readings->line_min_c)) || (fitted->flue && !is_known(readings->flue_c))
        || ((fire != NO) && fitted->radiator_inlet && !in_range(readings->radiator_inlet_c))
        || ((fire != NO) && fitted->radiator_outlet && !seen->radiator_known);
}

/*
 * What should move with an outlet thermometer: the other one, the radiator's inlet, the metal.
 *
 * NaN without any.
 */
static double neighbour_c(const Readings *readings, double other_c, const Constants *constants)
{
    if (in_range(other_c)) {
        return other_c;
    }
    if (constants->fitted.radiator_inlet) {
        return readings->radiator_inlet_c;
    }
    return constants->fitted.metal ? readings->coil_metal_c : NOT_KNOWN;
}

/*
 * How long a thermometer has read the same, a second later.
 *
 * Short of what makes it frozen until its neighbour has moved, and then has its time to follow.
 */
static double same_s(double lasted_s, double beside_c, double near_c, const Constants *constants)
{
    lasted_s = lasted_s + SECOND_S;
    const bool moved = magnitude(beside_c - near_c) >= constants->truth.neighbour_moves_k;
    if (!moved && (lasted_s > (FROZEN_S - FOLLOWS_S))) {
        return FROZEN_S - FOLLOWS_S;
    }
    return lasted_s;
}

/* Rules 3 and 6. Water that is not calm is no evidence: what was suspected stands. */
static uint64_t residual_bits(const Readings *readings, const Seen *seen, const Estimate *now,
    const Doubt *doubt, const Constants *constants)
{
    const Truth *truth = &constants->truth;
    const Reckoned *reckoned = &constants->reckoned;
    uint64_t bits = 0U;
    if (now->proven_now && (doubt->slow_rise_k < (-reckoned->low_rise_k))) {
        bits |= OUTLET_LOW;
    }
    if (!constants->fitted.radiator_inlet) {
        return bits;
    }
    const double gap_k = doubt->slow_outlet_c - doubt->slow_inlet_c;
    const bool calm = now->proven_now && seen->steady && (magnitude(seen->outlet_c
        - doubt->slow_outlet_c) < CALM_K) && (magnitude(readings->radiator_inlet_c
        - doubt->slow_inlet_c) < CALM_K);
    if (!calm) {
        return bits | (doubt->suspects & (RESIDUAL | OUTLET_LOW));
    }
    /* Both sides times the stream: where a dead meter shows none, nothing is divided by it. */
    const double loss_w = truth->hot_w_k * (seen->outlet_c - truth->hot_air_c);
    const double stream_w_k = constants->water.w_per_lpm_k * seen->flow_lpm;
    if (((gap_k - reckoned->gap_k) * stream_w_k) > loss_w) {
        bits |= RESIDUAL;
    }
    if (gap_k < (-reckoned->gap_k)) {
        bits |= RESIDUAL | OUTLET_LOW;
    }
    return bits;
}

/* Rule 9: the flow is not what this valve and this supply should give. */
static bool flow_is_odd(const Readings *readings, const Seen *seen, const Control *control,
    const Watch *watch, const Constants *constants)
{
    const Reckoned *reckoned = &constants->reckoned;
    if (!(seen->flow_good && seen->steady) || (watch->pump_on_s < PUMP_SETTLED_S)) {
        return false;
    }
    if (control->moved_s < reckoned->valve_settles_s) {
        return false;
    }
    const double play = constants->valve.backlash;
    const double supply_v = readings->supply_v;
    const double least_lpm = reckoned->curve_low_v * supply_v * installed_lpm(control->valve - play,
        constants);
    const double most_lpm = reckoned->curve_high_v * supply_v * installed_lpm(control->valve + play,
        constants);
    return (seen->flow_lpm < least_lpm) || (seen->flow_lpm > most_lpm);
}

/* All rules that need time, one second later. */
void doubted(const Readings *readings, const Seen *seen, const Estimate *now, const Doubt *doubt,
    const Control *control, const Watch *watch, const Constants *constants, Doubt *out)
{
    const Fitted *fitted = &constants->fitted;
    const Truth *truth = &constants->truth;
    const bool burning = now->proven && (now->fire == YES);
    uint64_t suspects = 0U;

    const double raw_a_c = readings->coil_outlet_a_c;
    const double raw_b_c = readings->coil_outlet_b_c;
    const double beside_a_c = neighbour_c(readings, fitted->outlet_b ? raw_b_c : NOT_KNOWN,
        constants);
    double same_a_s = 0.0;
    double near_a_c = beside_a_c;
    if (raw_a_c == doubt->raw_a_c) {
        near_a_c = doubt->near_a_c;
        same_a_s = same_s(doubt->same_a_s, beside_a_c, near_a_c, constants);
        if (same_a_s >= FROZEN_S) {
            suspects |= OUTLET_A_FROZEN;
        }
    }
    const double beside_b_c = neighbour_c(readings, raw_a_c, constants);
    double same_b_s = 0.0;
    double near_b_c = beside_b_c;
    if (fitted->outlet_b && (raw_b_c == doubt->raw_b_c)) {
        near_b_c = doubt->near_b_c;
        same_b_s = same_s(doubt->same_b_s, beside_b_c, near_b_c, constants);
        if (same_b_s >= FROZEN_S) {
            suspects |= OUTLET_B_FROZEN;
        }
    }
    const double raw_tank_c = readings->tank_c;
    double same_tank_s = 0.0;
    if (truth->tank_fidgets && (raw_tank_c == doubt->raw_tank_c)) {
        same_tank_s = doubt->same_tank_s + SECOND_S;
        if ((same_tank_s >= TANK_FROZEN_S) && burning) {
            suspects |= TANK_FROZEN;
        }
    }

    const double slow_outlet_c = follow(doubt->slow_outlet_c, seen->outlet_c, CALM_SHARE);
    const double slow_inlet_c = follow(doubt->slow_inlet_c, readings->radiator_inlet_c, CALM_SHARE);
    double residual_s = 0.0;
    if (burning) {
        suspects |= residual_bits(readings, seen, now, doubt, constants);
        if ((suspects & RESIDUAL) != 0U) {
            residual_s = doubt->residual_s + SECOND_S;
            if (residual_s >= RESIDUAL_LONG_S) {
                suspects |= RESIDUAL_LASTS;
            }
        }
    }

    const double slow_rise_k = follow(doubt->slow_rise_k, now->rise_k, RISE_SHARE);
    double rise_low_k = slow_rise_k;
    double rise_high_k = slow_rise_k;
    double flue_low_c = readings->flue_c;
    double flue_high_c = readings->flue_c;
    double watched_s = 0.0;
    if (burning && fitted->flue) {
        suspects |= doubt->suspects & OUTLET_UNMOVED;
        watched_s = doubt->watched_s + SECOND_S;
        if (doubt->rise_low_k < rise_low_k) {
            rise_low_k = doubt->rise_low_k;
        }
        if (doubt->rise_high_k > rise_high_k) {
            rise_high_k = doubt->rise_high_k;
        }
        if (doubt->flue_low_c < flue_low_c) {
            flue_low_c = doubt->flue_low_c;
        }
        if (doubt->flue_high_c > flue_high_c) {
            flue_high_c = doubt->flue_high_c;
        }
        if (watched_s >= WATCHED_S) {
            suspects &= ~OUTLET_UNMOVED;
            if (((rise_high_k - rise_low_k) < UNMOVED_K) && ((flue_high_c
                - flue_low_c) > FLUE_MOVED_K)) {
                suspects |= OUTLET_UNMOVED;
            }
            rise_low_k = slow_rise_k;
            rise_high_k = slow_rise_k;
            flue_low_c = readings->flue_c;
            flue_high_c = readings->flue_c;
            watched_s = 0.0;
        }
    }

    if (flow_is_odd(readings, seen, control, watch, constants)) {
        suspects |= PLAUSIBILITY_FLOW_ODD;
    }
    if (guard_lost(readings, seen, now->fire, constants)) {
        suspects |= GUARD_LOST;
    }
    double foul_s = 0.0;
    if (fitted->co) {
        if (readings->co_ppm >= FOUL_PPM) {
            foul_s = doubt->foul_s + SECOND_S;
        } else if (!is_known(readings->co_ppm)) {
            foul_s = doubt->foul_s;
        } else {
            /* All stays as it is. */
        }
        if (foul_s >= FOUL_S) {
            suspects |= AIR_FOUL;
        }
    }
    out->suspects = suspects;
    out->slow_outlet_c = slow_outlet_c;
    out->slow_inlet_c = slow_inlet_c;
    out->slow_rise_k = slow_rise_k;
    out->raw_a_c = raw_a_c;
    out->same_a_s = same_a_s;
    out->near_a_c = near_a_c;
    out->raw_b_c = raw_b_c;
    out->same_b_s = same_b_s;
    out->near_b_c = near_b_c;
    out->raw_tank_c = raw_tank_c;
    out->same_tank_s = same_tank_s;
    out->residual_s = residual_s;
    out->rise_low_k = rise_low_k;
    out->rise_high_k = rise_high_k;
    out->flue_low_c = flue_low_c;
    out->flue_high_c = flue_high_c;
    out->watched_s = watched_s;
    out->foul_s = foul_s;
}
