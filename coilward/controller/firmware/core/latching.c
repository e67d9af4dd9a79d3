/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/latching.py; don't
 * edit.
 */
#include "latching.h"
#include "numbers.h"
#include "estimating.h"
#include "interlocks.h"
#include "phases.h"
#include "state.h"

/* Set by their rows; cleared one at a time, by a button held for 2 s, cause absent. */
Latched latches(uint64_t raised, uint64_t cause, const Readings *readings, const Requests *requests,
    const Mode *mode, const Ages *ages, const Watch *watch, const Estimate *now, const Seen *seen,
    const Constants *constants)
{
    if (!requests->reset && ((raised & LATCHING) == 0U)) {
        return (Latched){
            .latched = mode->latched,
            .dry = now->dry,
            .fire = now->fire,
            .reset_s = 0.0,
            .dry_reset = false,
        };
    }
    const double tick_s = constants->tick_s;
    uint64_t latched = mode->latched | (raised & LATCHING);
    bool dry = now->dry;
    double reset_s = 0.0;
    bool dry_reset = false;
    if (requests->reset) {
        reset_s = (watch->reset_s < 0.0) ? watch->reset_s : (watch->reset_s + tick_s);
        if ((reset_s >= RESET_HELD_S) && (mode->phase != BOOT)) {
            reset_s = -1.0;
            if (mode->phase == DRY) {
                bool under;
                bool unfitted;
                cold_enough(seen->metal_c, readings->flue_c, 60.0, constants, &under, &unfitted);
                const bool filled = !constants->fitted.level || (readings->level_low < 0.5);
                const bool seldom = (ages->dry_reset_2_s >= DAY_S) || requests->key;
                if ((now->fire == NO) && filled && seldom && (under || unfitted)) {
                    dry = false;
                    dry_reset = true;
                    latched = latched & ~LATCH_DRY;
                }
            } else {
                const uint64_t free = latched & ~cause & ~LATCH_DRY;
                latched = latched & ~(free & (0U - free));
            }
        }
    }
    return (Latched){
        .latched = latched,
        .dry = dry,
        .fire = now->fire,
        .reset_s = reset_s,
        .dry_reset = dry_reset,
    };
}

/* Index of the lowest row in a mask that has one; each look leaves half of the rest. */
int64_t first_of(uint64_t mask)
{
    int64_t index = 0;
    uint64_t rest = mask;
    if ((rest & 4294967295U) == 0U) {
        index = 32;
        rest = rest >> 32;
    }
    if ((rest & 65535U) == 0U) {
        index = index + 16;
        rest = rest >> 16;
    }
    if ((rest & 255U) == 0U) {
        index = index + 8;
        rest = rest >> 8;
    }
    if ((rest & 15U) == 0U) {
        index = index + 4;
        rest = rest >> 4;
    }
    if ((rest & 3U) == 0U) {
        index = index + 2;
        rest = rest >> 2;
    }
    if ((rest & 1U) == 0U) {
        index = index + 1;
    }
    return index;
}
