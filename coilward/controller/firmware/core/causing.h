/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/causing.py; don't edit.
 */
#ifndef CAUSING_H
#define CAUSING_H

/*
 * Which interlock causes are present in this tick: one condition a row, in table order.
 *
 * Conditions on hot-side values are written "not (value < limit)", so that NaN trips. Causes
 * that would stop the pump ask for positive evidence instead: a missing reading never does.
 * All conditions hold only while a fire may be in, except the rows marked for any time.
 */
#include "numbers.h"
#include "constants.h"
#include "estimating.h"
#include "sensing.h"
#include "state.h"
#include "types.h"

/* A pump that was just started is not yet asked for flow. */
#define STARTED_S 2.0
#define FREEZING_C 1.0
#define THAWED_C 2.0
#define CORE_FREEZING_C 3.0
#define CORE_THAWED_C 5.0
/* Loud at once, where a home alarm may wait half an hour (EN 50291 alarm points). */
#define CO_PPM 100.0
/* Flow of a resting loop; warmer than this over the tank it may circulate by itself. */
#define REST_LPM 0.3
#define REST_RISE_K 5.0
#define PEOPLE_COOLED_K 2.0
#define APART_K 3.0
#define FAR_APART_K 10.0
#define SPINS_SHARE 1.15
#define SPINS_AFTER_S 60.0
#define REBOOTS_S 600.0
#define HOUR_S 3600.0
#define FANS_UP_S 3.0
#define SHORT_S 10.0
#define UNDER_S 3.0
#define WEAK_S 120.0
#define EVIDENCE_S 3.0
#define DEAF_STROKE 0.11
#define ANSWER_SHARE 0.25

double installed_lpm(double stroke, const Constants *constants);

uint64_t causes(const Readings *readings, const Requests *requests, const Seen *seen,
    const Estimate *now, const Mode *mode, const Ages *ages, const Watch *watch, uint64_t suspects,
    const Control *control, double hand_s, uint64_t raised, uint64_t before,
    const Constants *constants);

#endif
