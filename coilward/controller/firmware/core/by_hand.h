/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/by_hand.py; don't edit.
 */
#ifndef BY_HAND_H
#define BY_HAND_H

/*
 * Outputs held by hand: a layer while a fire may be in, and the whole of the maintenance phase.
 *
 * While a fire may be in, a hand can only move an output to its safer side: valve and dump open,
 * fans full, damper shut; the pump runs anyway. In maintenance, with the key turned, no fire and
 * the coil known to be cold, each output leaves its rest while its button is held; from the tick
 * that sees a fire on, the first rule holds there too. A hold ends after a minute, so that a stuck
 * button gives the output back; it counts again once all are let go.
 */
#include "numbers.h"
#include "constants.h"
#include "estimating.h"
#include "sensing.h"
#include "state.h"
#include "types.h"

/* Longest hold (common practice, no source). */
#define HELD_S 60.0
#define COLD_COIL_C 50.0

bool cold_coil(const Seen *seen, const Constants *constants);

double hold_s(const Requests *requests, const Readings *readings, const Seen *seen, int64_t phase,
    int64_t fire, const Control *control, const Constants *constants);

bool refused(const Requests *requests, const Estimate *now, const Mode *mode, double hand_s);

Commands by_hand(const Commands *base, int64_t phase, int64_t fire, double hand_s,
    const Requests *requests, const Constants *constants);

#endif
