/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/remembering.py; don't
 * edit.
 */
#ifndef REMEMBERING_H
#define REMEMBERING_H

/* What a tick leaves behind for the next one: filters, timers, the valve's answer. */
#include "numbers.h"
#include "constants.h"
#include "estimating.h"
#include "sensing.h"
#include "state.h"
#include "types.h"

#define IDLE_K 1.0
#define LINE_WARM_C 7.0
#define OPEN_STROKE 0.999
/* A flow that was short has to exceed its need by this before it counts as enough. */
#define RESTORED 1.05
#define WEAK_OVER_ROOM_K 15.0

void remember(const Readings *readings, const Seen *seen, const Estimate *now,
    const Commands *commands, const Watch *watch, bool returned, double clean_s, uint64_t held,
    double reset_s, double silence_s, double second_s, const Constants *constants, Watch *out);

void answered(bool deaf, const Seen *seen, const Control *control, double valve, double moved_s,
    const Constants *constants, double *first, double *second);

#endif
