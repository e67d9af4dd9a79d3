/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/sensing.py; don't edit.
 */
#ifndef SENSING_H
#define SENSING_H

/*
 * From readings to what can be relied on: range, outliers, votes, slopes.
 *
 * One bad reading may stop; one good reading may never start. A channel that is not fitted
 * feeds nothing; a lost one is dropped from its vote; a vote without voters is NaN, and every
 * comparison downstream is written so that NaN trips.
 */
#include "numbers.h"
#include "constants.h"
#include "state.h"
#include "types.h"

/* Range of a water thermometer (common practice, no source). */
#define LOWEST_C (-30.0)
#define HIGHEST_C 130.0
/* What a one-wire digital thermometer reads before its first conversion (maker's data sheet). */
#define POWER_ON_C 85.0
/* An outlier that lasts is no outlier: a steam slug is real. */
#define BELIEVED_S 2.0
/* Bottom of the range of the usual pulse meter (common practice, no source). */
#define TRUSTED_LPM 1.0
/* No garden pump moves more; a larger number is no reading. */
#define POSSIBLE_LPM 500.0
/* Pump current means nothing for so long after a start. */
#define INRUSH_S 1.0
/* The radiator's outlet falls by this when the water stands and the fans run. */
#define FALL_K 3.0
#define FANS_SETTLED_S 60.0
#define RADIATOR_OVER_ROOM_K 10.0
#define RADIATOR_STILL_WARM_K 5.0

/* What one tick shows. Unknown temperatures are NaN; flags are never "maybe". */
typedef struct {
    /* The hotter of the outlet thermometers that can be believed. */
    double outlet_c;
    bool outlet_a_ok;
    bool outlet_b_ok;
    double outlet_a_c;
    double outlet_a_odd_s;
    double outlet_b_c;
    double outlet_b_odd_s;
    double slow_a_c;
    double slow_b_c;
    /* Outlet over its filter, the faster of both. */
    double rising_k;
    /* Between two outlet thermometers that can both be believed, else 0. */
    double apart_k;
    double tank_c;
    bool tank_ok;
    double flow_lpm;
    /* Of the water through the coil, at no less than the least flow that is trusted. */
    double transit_s;
    double slow_lpm;
    bool flow_good;
    /* Known to be missing; a lost reading is neither good nor absent. */
    bool flow_absent;
    bool current_ok;
    bool current_bad;
    bool switch_on;
    bool switch_off;
    double metal_c;
    bool metal_rising;
    double slow_metal_c;
    bool metal_high;
    bool metal_clean;
    bool radiator_known;
    /* The radiator's outlet says that water moves. */
    bool radiator_steady;
    bool radiator_fell;
    /* Flow switch or radiator says that water moves. */
    bool second_proof;
    /* Flow has been even for long enough that flow times rise is heat. */
    bool steady;
} Seen;

bool in_range(double reading_c);

double follow(double slow, double value, double share);

void sense(const Readings *readings, uint64_t suspects, const Mode *mode, const Ages *ages,
    const Watch *watch, const Control *control, const Constants *constants, Seen *out);

#endif
