/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/prelight.py; don't
 * edit.
 */
#include "prelight.h"
#include "numbers.h"
#include "sensing.h"

static uint64_t passed_last(uint64_t passed, const Readings *readings, const Seen *seen,
    const Constants *constants);

/* Whether every fitted loop thermometer is known and within 1 K of the tank's. */
static bool agreement(const Readings *readings, const Seen *seen, const Constants *constants)
{
    const Fitted *fitted = &constants->fitted;
    const double tank_c = readings->tank_c;
    if (!(seen->tank_ok && seen->outlet_a_ok && (magnitude(seen->outlet_a_c - tank_c) <=
        AGREE_K))) {
        return false;
    }
    if (fitted->outlet_b && !(seen->outlet_b_ok && (magnitude(seen->outlet_b_c - tank_c) <=
        AGREE_K))) {
        return false;
    }
    const double inlet_c = readings->radiator_inlet_c;
    if (fitted->radiator_inlet && !(in_range(inlet_c) && (magnitude(inlet_c - tank_c) <=
        AGREE_K))) {
        return false;
    }
    const double outlet_c = readings->radiator_outlet_c;
    const double warmest_c = (tank_c > readings->room_c) ? tank_c : readings->room_c;
    return !fitted->radiator_outlet || (seen->radiator_known && (outlet_c <= (warmest_c
        + AGREE_K)));
}

/* The checks passed so far, after this tick of the cold start. */
uint64_t passed_checks(uint64_t passed, double phase_s, const Readings *readings, const Seen *seen,
    const Estimate *now, const Constants *constants)
{
    const Fitted *fitted = &constants->fitted;
    const Water *water = &constants->water;
    const Reckoned *reckoned = &constants->reckoned;
    if (!fitted->level || ((readings->level_low < 0.5) && (readings->level_low_low < 0.5))) {
        passed |= LEVEL;
    } else {
        passed &= ~LEVEL;
    }
    if (!fitted->damper_switch) {
        passed |= DAMPER_OPENS | DAMPER_SHUTS;
    }
    if (phase_s >= DAMPER_S) {
        if (readings->damper_shut >= 0.5) {
            passed |= DAMPER_SHUTS;
        }
        if (phase_s >= DONE_S) {
            passed = passed_last(passed, readings, seen, constants);
        }
    } else if (phase_s >= FANS_S) {
        if (readings->damper_shut < 0.5) {
            passed |= DAMPER_OPENS;
        }
    } else if (phase_s >= STOP_S) {
        const bool fans_turn = !fitted->fan_current || (readings->fan_a >= reckoned->fans_least_a);
        if ((phase_s >= (FANS_S - 4.0)) && fans_turn) {
            passed |= FANS;
        }
    } else if (phase_s >= OPEN_S) {
        const bool always = constants->valve.always_open;
        const bool enough = always || (now->proven && (seen->flow_lpm >= water->min_at_stop_lpm));
        if ((phase_s >= (STOP_S - 8.0)) && enough) {
            passed |= FLOW_STOP;
        }
    } else if (phase_s >= (0.6 * OPEN_S)) {
        if (now->proven && (seen->flow_lpm >= reckoned->healthy_lpm)) {
            passed |= FLOW_OPEN;
        }
        if (!fitted->switch_ || seen->switch_on) {
            passed |= SWITCH;
        }
    } else if ((phase_s <= REST_S) && (readings->supply_v >= reckoned->supply_rests_v)) {
        passed |= BATTERY;
    } else {
        /* All stays as it is. */
    }
    return passed;
}

/* The same, of the checks that have to hold until the fire is lit. */
static uint64_t passed_last(uint64_t passed, const Readings *readings, const Seen *seen,
    const Constants *constants)
{
    const Fitted *fitted = &constants->fitted;
    passed = agreement(readings, seen, constants) ? (passed | AGREE) : (passed & ~AGREE);
    const bool cold = fitted->line && !(readings->line_min_c > 2.0);
    passed = cold ? (passed & ~LINES) : (passed | LINES);
    const bool foul = fitted->co && !(readings->co_ppm < CLEAN_PPM);
    passed = foul ? (passed & ~AIR) : (passed | AIR);
    const bool own = readings->constants_ok >= 0.5;
    return own ? (passed | CONSTANTS) : (passed & ~CONSTANTS);
}
