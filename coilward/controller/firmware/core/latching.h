/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/latching.py; don't
 * edit.
 */
#ifndef LATCHING_H
#define LATCHING_H

/*
 * Latches: set by their rows, cleared by a person at the board, one at a time.
 *
 * A reset asks for the button held for two seconds and for the cause to be gone. The dry latch
 * asks for more: a fire declared out, cold metal, a full tank. Silence is no reset, and neither
 * is switching off and on: latches are stored.
 */
#include "numbers.h"
#include "constants.h"
#include "estimating.h"
#include "sensing.h"
#include "state.h"
#include "types.h"

#define RESET_HELD_S 2.0
/* A third dry lock-out within it needs the key: what recurs has not been mended. */
#define DAY_S 86400.0

/* Latches after causes and the reset button have had their say. */
typedef struct {
    uint64_t latched;
    bool dry;
    int64_t fire;
    double reset_s;
    bool dry_reset;
} Latched;

Latched latches(uint64_t raised, uint64_t cause, const Readings *readings, const Requests *requests,
    const Mode *mode, const Ages *ages, const Watch *watch, const Estimate *now, const Seen *seen,
    const Constants *constants);

int64_t first_of(uint64_t mask);

#endif
