/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/facts.py; don't edit.
 */
#include "facts.h"
#include "numbers.h"
#include "by_hand.h"
#include "estimating.h"
#include "interlocks.h"
#include "phases.h"
#include "prelight.h"
#include "state.h"

static double warm_from_c(const Seen *seen, const Constants *constants);

static uint64_t came_from(int64_t phase);

static uint64_t boot_facts(uint64_t facts, const Readings *readings, const Seen *seen,
    const Estimate *now, const Mode *mode, const Ages *ages, const Constants *constants);

/* The booleans that the phase table reads, as one mask. */
uint64_t facts_of(uint64_t active, uint64_t raised, const Readings *readings,
    const Requests *requests, const Seen *seen, const Estimate *now, const Latched *kept,
    const Mode *mode, const Ages *ages, const Watch *watch, const Constants *constants)
{
    const Limits *limits = &constants->limits;
    const Fitted *fitted = &constants->fitted;
    uint64_t facts = 0U;
    if ((raised & TO_DRY) != 0U) {
        facts |= ROW_DRY;
    }
    if ((raised & TO_NO_FLOW) != 0U) {
        facts |= ROW_NO_FLOW;
    }
    if ((active & TO_SHUTDOWN) != 0U) {
        facts |= ROW_SHUTDOWN;
    }
    if ((active & TO_DEGRADED) != 0U) {
        facts |= ROW_DEGRADED;
    } else {
        facts |= INSTRUMENTS_CLEAN;
    }
    if ((raised & TO_DUMP) != 0U) {
        facts |= ROW_DUMP;
    }
    if ((raised & UNPERMITTED_HEAT) != 0U) {
        facts |= HEAT_UNPERMITTED;
    }
    if (now->fire == NO) {
        facts |= FIRE_OUT;
    }
    if (kept->dry) {
        facts |= COIL_MAY_BE_DRY;
    }
    if (kept->dry_reset) {
        facts |= DRY_RESET;
    }
    if (kept->latched != 0U) {
        facts |= PERSON_LATCHED;
    }
    if (requests->prepare) {
        facts |= PREPARE;
    }
    if (requests->finish) {
        facts |= FINISH;
    }
    if (now->proven && (now->still_s <= 0.0)) {
        facts |= FLOW_RETURNED;
    }
    if ((kept->latched & METER_DEAD) != 0U) {
        facts |= METER_DEAD_WATER_MOVES;
    }
    const int64_t phase = mode->phase;
    if (phase == BOOT) {
        facts = boot_facts(facts, readings, seen, now, mode, ages, constants);
    } else if (phase == NO_FLOW) {
        if (fitted->level && !(readings->level_low_low < 0.5)) {
            facts |= TANK_LOW_LOW;
        }
        facts |= came_from(mode->came_from);
    } else if ((phase == STANDBY) || (phase == FREEZE)) {
        if (fitted->line && (readings->line_min_c < LINE_COLD_C)) {
            facts |= LINE_COLD;
        }
        if (watch->warm_line_s >= LINE_WARM_S) {
            facts |= LINE_WARM;
        }
        if (requests->key && (now->fire == NO) && cold_coil(seen, constants)) {
            facts |= KEY_AND_COLD;
        }
    } else if (phase == MAINTENANCE) {
        if (!requests->key) {
            facts |= KEY_OFF;
        }
    } else if (phase == COLD_START) {
        if (mode->permitted && (now->fire != NO)) {
            facts |= CHECK_PASSED_AND_LIT;
        }
        if (ages->phase_s >= GIVEN_S) {
            facts |= CHECK_OVER;
        }
    } else {
        if ((phase == WARM_UP) && (seen->outlet_c >= warm_from_c(seen, constants))) {
            facts |= WARM;
        }
        if (watch->idle_s >= ((phase == WARM_UP) ? NO_HEAT_WARM_UP_S : NO_HEAT_S)) {
            facts |= NO_HEAT;
        }
        if (!(seen->tank_c < limits->tank_finish_c)) {
            facts |= TANK_FINISHED;
        }
        if ((watch->cooled_s >= COOLED_S) && (ages->phase_s >= DUMP_LEAST_S)) {
            facts |= COOLED;
        }
    }
    return facts;
}

/* Outlet from which warm-up is over: most of what the usual fire can reach. */
static double warm_from_c(const Seen *seen, const Constants *constants)
{
    const double warm_c = seen->tank_c + constants->reckoned.warm_k;
    return (warm_c < WARM_C) ? warm_c : WARM_C;
}

/* The fact that names the phase to return to. */
static uint64_t came_from(int64_t phase)
{
    if (phase == WARM_UP) {
        return WAS_WARM_UP;
    }
    if (phase == RUN) {
        return WAS_RUN;
    }
    if (phase == DUMP) {
        return WAS_DUMP;
    }
    if (phase == DEGRADED) {
        return WAS_DEGRADED;
    }
    return WAS_SHUTDOWN;
}

/* After a restart nothing is believed that cannot be seen: a fire is out only if it is cold. */
static uint64_t boot_facts(uint64_t facts, const Readings *readings, const Seen *seen,
    const Estimate *now, const Mode *mode, const Ages *ages, const Constants *constants)
{
    facts &= ~FIRE_OUT;
    bool under_40;
    bool unfitted;
    cold_enough(seen->metal_c, readings->flue_c, 40.0, constants, &under_40, &unfitted);
    if ((mode->fire == NO) && (now->fire == NO) && (under_40 || (unfitted
        && (seen->outlet_c < 40.0)))) {
        facts |= FIRE_OUT;
    }
    if (now->water_moved && (readings->pump_contact >= 0.5)) {
        facts |= WATER_FOUND_MOVING;
    }
    if (ages->phase_s >= BOOT_S) {
        facts |= BOOT_WAITED;
    }
    if ((mode->came_from == WARM_UP) || (mode->came_from == RUN) || (mode->came_from == DUMP)
        || (mode->came_from == DEGRADED) || (mode->came_from == SHUTDOWN)) {
        facts |= came_from(mode->came_from);
    }
    return facts;
}
