/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/causing.py; don't edit.
 */
#include "causing.h"
#include "numbers.h"
#include "by_hand.h"
#include "interlocks.h"
#include "phases.h"
#include "plausibility.h"
#include "state.h"

static double people_feel_c(const Readings *readings, const Constants *constants);

/* On the straight line from a flow of the curve to the next. */
static double along_lpm(int64_t i, double stroke, const Constants *constants)
{
    return constants->valve.foot_lpm.at[i] + (constants->valve.slope_lpm.at[i] * stroke);
}

/* Flow at a stroke with a healthy pump, from the loop's installed valve curve. */
double installed_lpm(double stroke, const Constants *constants)
{
    if (stroke <= 0.5) {
        if (stroke <= 0.25) {
            return along_lpm((stroke <= 0.125) ? 0 : 1, stroke, constants);
        }
        return along_lpm((stroke <= 0.375) ? 2 : 3, stroke, constants);
    }
    if (stroke <= 0.75) {
        return along_lpm((stroke <= 0.625) ? 4 : 5, stroke, constants);
    }
    if (stroke <= 0.875) {
        return along_lpm(6, stroke, constants);
    }
    if (stroke <= 1.0) {
        return along_lpm(7, stroke, constants);
    }
    return constants->valve.curve_lpm.at[8];
}

/* The stroke has changed by a real step, has had its time, and the flow has not followed. */
static bool valve_is_deaf(const Seen *seen, const Control *control, const Constants *constants)
{
    const double moved = control->valve - control->stroke_was;
    if ((magnitude(moved) < DEAF_STROKE)
        || (control->moved_s < constants->reckoned.valve_answers_s)) {
        return false;
    }
    if (!(seen->flow_good && seen->steady)) {
        return false;
    }
    const double due_lpm = installed_lpm(control->valve, constants)
        - installed_lpm(control->stroke_was, constants);
    if (magnitude(due_lpm) < 0.5) {
        return false;
    }
    const double came_lpm = seen->flow_lpm - control->flow_was_lpm;
    return magnitude(came_lpm) < (ANSWER_SHARE * magnitude(due_lpm));
}

/* Rows whose channel does not answer: what they said last stands. */
static uint64_t unjudged(const Readings *readings, const Seen *seen, const Constants *constants)
{
    const Fitted *fitted = &constants->fitted;
    uint64_t mask = 0U;
    if (!seen->outlet_a_ok || (fitted->outlet_b && !seen->outlet_b_ok)) {
        mask |= ON_OUTLET;
    }
    if (!seen->tank_ok) {
        mask |= ON_TANK;
    }
    if (fitted->metal && !is_known(seen->metal_c)) {
        mask |= ON_METAL;
    }
    if (fitted->level && !(is_known(readings->level_low) && is_known(readings->level_low_low))) {
        mask |= ON_LEVEL;
    }
    if (!is_known(readings->supply_v)) {
        mask |= ON_SUPPLY;
    }
    if (fitted->line && !is_known(readings->line_min_c)) {
        mask |= ON_LINE;
    }
    if (fitted->current && !is_known(readings->pump_a)) {
        mask |= ON_CURRENT;
    }
    if (!is_known(readings->co_ppm)) {
        mask |= ON_CO;
    }
    if (!is_known(readings->smoke)) {
        mask |= ON_SMOKE;
    }
    if (!is_known(readings->vent_wet)) {
        mask |= ON_VENT;
    }
    if (!is_known(readings->damper_shut)) {
        mask |= ON_DAMPER;
    }
    const double people_c = people_feel_c(readings, constants);
    if (!is_known(people_c)) {
        mask |= ON_PEOPLE;
    }
    if (!is_known(readings->radiator_outlet_c)) {
        mask |= ON_RADIATOR;
    }
    return mask;
}

/* The water of a tub, else the air of the room. */
static double people_feel_c(const Readings *readings, const Constants *constants)
{
    return constants->fitted.tub ? readings->tank_c : readings->room_c;
}

/* Pulses with the pump off, in a loop too cold to circulate by itself (rule 10). */
static bool counts_at_rest(const Readings *readings, const Seen *seen, const Estimate *now,
    const Control *control, const Constants *constants)
{
    if (control->pump || (readings->pump_contact >= 0.5) || !(seen->flow_lpm > REST_LPM)) {
        return false;
    }
    const bool draws = constants->fitted.current
        && (readings->pump_a > constants->reckoned.pump_rests_a);
    return !draws && !(now->rise_k > REST_RISE_K);
}

/* Time ran back, or ticks were missed (rule 18); a start is no jump. */
static bool clock_jumped(const Estimate *now, int64_t phase, const Ages *ages)
{
    return (now->missed || (now->gap_s < 0.0)) && (phase != BOOT) && (ages->phase_s > 0.0);
}

/* Flow and outlet go up together with nothing told to move (rule 11): steam or air. */
static bool spins(const Seen *seen, const Watch *watch, const Constants *constants)
{
    return (seen->flow_lpm > (SPINS_SHARE * seen->slow_lpm))
        && (seen->rising_k > constants->reckoned.outlet_spins_k) && (watch->open_s >= SPINS_AFTER_S)
        && (watch->pump_on_s >= SPINS_AFTER_S) && (watch->mute_s <= 0.0);
}

/* Rows about the house and the meter at rest, which count with the fire out too. */
static uint64_t causes_around(const Readings *readings, const Seen *seen, const Estimate *now,
    const Control *control, uint64_t before, const Constants *constants)
{
    const Fitted *fitted = &constants->fitted;
    uint64_t mask = 0U;
    if (fitted->co && (readings->co_ppm >= CO_PPM)) {
        mask |= CARBON_MONOXIDE;
    }
    if (fitted->smoke && (readings->smoke >= 0.5)) {
        mask |= SMOKE;
    }
    const double freezing_c = ((before & LINE_FREEZING) != 0U) ? THAWED_C : FREEZING_C;
    if (fitted->line && (readings->line_min_c < freezing_c)) {
        mask |= LINE_FREEZING;
    }
    if ((now->fire == NO) && counts_at_rest(readings, seen, now, control, constants)) {
        mask |= PULSES_AT_REST;
    }
    return mask;
}

/* Rows about vent, damper, constants, people, radiator and board, while a fire may be in. */
static uint64_t causes_of_parts(const Readings *readings, int64_t phase, const Ages *ages,
    const Control *control, uint64_t before, const Constants *constants)
{
    const Fitted *fitted = &constants->fitted;
    uint64_t mask = 0U;
    if (fitted->vent && (readings->vent_wet >= 0.5)) {
        mask |= VENT_WET;
    }
    if (fitted->damper_switch && !control->damper_open && (readings->damper_shut < 0.5)) {
        mask |= DAMPER_OPEN;
    }
    if (!(readings->constants_ok >= 0.5)) {
        mask |= CONSTANTS_BAD;
    }
    double people_c = constants->limits.people_c;
    if ((before & TOO_HOT_FOR_PEOPLE) != 0U) {
        people_c = people_c - PEOPLE_COOLED_K;
    }
    if (people_feel_c(readings, constants) >= people_c) {
        mask |= TOO_HOT_FOR_PEOPLE;
    }
    if (fitted->radiator_outlet) {
        if ((before & RADIATOR_FREEZING) != 0U) {
            if (readings->radiator_outlet_c < CORE_THAWED_C) {
                mask |= RADIATOR_FREEZING;
            }
        } else if ((control->fans > 0.0) && (readings->radiator_outlet_c < CORE_FREEZING_C)) {
            mask |= RADIATOR_FREEZING;
        } else {
            /* All stays as it is. */
        }
    }
    if ((phase != BOOT) && (ages->reboot_3_s < REBOOTS_S)) {
        mask |= REBOOTS;
    }
    return mask;
}

/* Whether a fitted channel that the logic leans on does not answer. */
static bool witness_lost(const Readings *readings, const Seen *seen, const Constants *constants)
{
    const double pump_a = readings->pump_a;
    const double switch_ = readings->flow_switch;
    const double metal_c = seen->metal_c;
    const double level = readings->level_low_low;
    const double everything = pump_a + switch_ + metal_c + level + readings->supply_v;
    if ((everything - everything) == 0.0) {
        return false;
    }
    const Fitted *fitted = &constants->fitted;
    return (fitted->current && !is_known(pump_a)) || (fitted->switch_ && !is_known(switch_))
        || (fitted->metal && !is_known(metal_c)) || (fitted->level && !is_known(level))
        || !is_known(readings->supply_v);
}

/*
 * The mask of rows whose cause is present in this tick, before any debounce.
 *
 * `raised` are the rows that counted in the last tick, `before` the causes it saw.
 */
uint64_t causes(const Readings *readings, const Requests *requests, const Seen *seen,
    const Estimate *now, const Mode *mode, const Ages *ages, const Watch *watch, uint64_t suspects,
    const Control *control, double hand_s, uint64_t raised, uint64_t before,
    const Constants *constants)
{
    const Limits *limits = &constants->limits;
    const Fitted *fitted = &constants->fitted;
    const Reckoned *reckoned = &constants->reckoned;
    const Power *power = &constants->power;
    const int64_t phase = mode->phase;
    uint64_t mask = 0U;
    if (before != 0U) {
        mask = before & unjudged(readings, seen, constants);
    }
    if (requests->emergency) {
        mask |= EMERGENCY;
    }
    if (requests->remote_unsafe || refused(requests, now, mode, hand_s)) {
        mask |= REFUSED;
    }
    mask |= causes_around(readings, seen, now, control, before, constants);
    if (clock_jumped(now, phase, ages)) {
        mask |= CLOCK_JUMPED;
    }
    if ((suspects & AIR_FOUL) != 0U) {
        mask |= FOUL_AIR;
    }
    if (((suspects & GUARD_LOST) != 0U) || witness_lost(readings, seen, constants)) {
        mask |= WITNESS_LOST;
    }
    if (now->fire == NO) {
        return mask & ANY_TIME;
    }
    if (((phase == STANDBY) || (phase == FREEZE) || (phase == MAINTENANCE)) || ((phase ==
        COLD_START) && !mode->permitted)) {
        mask |= UNPERMITTED_HEAT;
    }
    mask |= causes_of_parts(readings, phase, ages, control, before, constants);

    const bool commanded = control->pump && ((watch->pump_on_s >= STARTED_S) || (phase == NO_FLOW));
    if (commanded && !mode->meter_dead && (!seen->flow_good || spins(seen, watch, constants))) {
        mask |= LOW_FLOW;
    }
    const bool suspect = (ages->flow_return_s < HOUR_S) && seen->flow_good && seen->second_proof;
    if (seen->current_bad && !suspect) {
        mask |= PUMP_CURRENT;
    }
    if (watch->mute_s <= 0.0) {
        if (!(seen->outlet_c < limits->outlet_dump_c)) {
            mask |= OUTLET_DUMP;
        }
        if ((watch->short_s >= SHORT_S) || (watch->under_s >= UNDER_S)) {
            mask |= FLOW_SHORT;
        }
        if (!seen->flow_absent && (seen->rising_k > reckoned->outlet_rises_k)) {
            mask |= OUTLET_RATE;
        }
    }
    if (!(seen->outlet_c < limits->outlet_hh_c)) {
        mask |= OUTLET_HH;
    }
    if (!(seen->tank_c < limits->tank_trip_c)) {
        mask |= TANK_TRIP;
    }
    if (!(seen->tank_c < limits->tank_hh_c)) {
        mask |= TANK_HH;
    }
    if (seen->metal_high) {
        mask |= METAL_HIGH;
        const bool no_flow_seen = ((phase == NO_FLOW) || (phase == DRY)) || ((raised & (LOW_FLOW
            | PUMP_CURRENT)) != 0U);
        if ((seen->metal_c > limits->metal_dry_c) && !now->proven_now && no_flow_seen) {
            mask |= METAL_DRY;
        }
    }
    if ((phase != BOOT) && (now->still_s > now->window_s) && now->still_known && !now->evidence) {
        mask |= STOOD_TOO_LONG;
    }
    if ((phase == BOOT) && (readings->pump_contact < 0.5) && (now->still_s > now->window_s)) {
        mask |= POWER_AWAY;
    }
    if (!seen->outlet_a_ok || (fitted->outlet_b && !seen->outlet_b_ok) || ((seen->apart_k > APART_K)
        || ((suspects & (OUTLET_LOW | OUTLET_UNMOVED)) != 0U))) {
        mask |= OUTLET_DOUBT;
        if (!seen->outlet_a_ok && !seen->outlet_b_ok) {
            mask |= OUTLETS_LOST;
        }
    }
    if (((watch->mute_s <= 0.0) && (seen->apart_k > FAR_APART_K)) || ((suspects & RESIDUAL_LASTS) !=
        0U)) {
        mask |= CONTRADICTED;
    }
    if ((suspects & RESIDUAL) != 0U) {
        mask |= HEAT_RESIDUAL;
    }
    if ((suspects & PLAUSIBILITY_FLOW_ODD) != 0U) {
        mask |= INTERLOCKS_FLOW_ODD;
    }
    if (!seen->tank_ok) {
        mask |= TANK_LOST;
    }
    if ((phase == NO_FLOW) && !seen->flow_good && now->evidence && (ages->phase_s >= EVIDENCE_S)) {
        mask |= METER_DEAD;
    }
    if (valve_is_deaf(seen, control, constants)) {
        mask |= VALVE_DEAF;
    }
    if ((watch->under_s > 0.0) && !(seen->flow_lpm >= reckoned->healthy_lpm)) {
        mask |= FLOW_NOT_RESTORED;
    }
    if (fitted->fan_current && (watch->fans_on_s >= FANS_UP_S)) {
        if (!(readings->fan_a >= power->fan_low_a)) {
            mask |= FANS_LOST;
        } else if (readings->fan_a < reckoned->fans_least_a) {
            mask |= FAN_LOST;
        } else {
            /* All stays as it is. */
        }
    }
    if (watch->weak_s >= WEAK_S) {
        mask |= FANS_LOST;
    }
    if (fitted->level && (readings->level_low >= 0.5)) {
        mask |= LEVEL_LOW;
    }
    if (fitted->level && (readings->level_low_low >= 0.5)) {
        mask |= LEVEL_LOW_LOW;
    }
    if (readings->supply_v < reckoned->supply_low_v) {
        mask |= SUPPLY_LOW;
    }
    if ((phase == DUMP) && ((ages->dump_4_s < HOUR_S) || ((ages->phase_s > reckoned->dump_helps_s)
        && !(seen->outlet_c < limits->outlet_dump_c)))) {
        mask |= DUMP_FAILS;
    }
    if ((phase == NO_FLOW) && (ages->flow_return_s < HOUR_S)) {
        mask |= SECOND_STOP;
    }
    return mask;
}
