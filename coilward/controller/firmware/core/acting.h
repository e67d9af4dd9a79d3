/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/acting.py; don't edit.
 */
#ifndef ACTING_H
#define ACTING_H

/*
 * From the phase to the outputs, in three gates: what the phase wants, what the interlocks
 * overrule, and a last guard that can only move an output to the safer side.
 */
#include "numbers.h"
#include "constants.h"
#include "estimating.h"
#include "sensing.h"
#include "state.h"
#include "types.h"

#define FAN_START_C 40.0
#define FAN_STOP_C 35.0
#define FAN_FORCED_C 65.0
#define RETRY_OFF_S 1.0
#define RETRY_EVERY_S 3.5

/* Off-and-on attempts on a pump that both its witnesses say does not pump. */
typedef struct {
    double tries;
    double off_s;
    double gap_s;
} Retry;

extern const Retry NO_RETRY;

Retry retry(bool entering, const Seen *seen, const Estimate *now, const Control *control,
    const Constants *constants);

Commands wanted(int64_t phase, double phase_s, double stroke, double guard_s,
    const Readings *readings, const Seen *seen, const Estimate *now, const Control *control,
    const Constants *constants);

Commands overruled(const Commands *base, uint64_t active, int64_t phase, const Control *control);

Commands guarded(const Commands *said, int64_t phase, int64_t fire, bool dry, bool retrying,
    bool dump_held, bool may_light, bool silent, const Constants *constants);

#endif
