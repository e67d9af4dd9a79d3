/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/estimating.py; don't
 * edit.
 */
#ifndef ESTIMATING_H
#define ESTIMATING_H

/*
 * What the logic makes of it: is there a fire, does the coil hold water, how much flow it needs.
 *
 * Fire: yes on any sign of heat; no only by burn-out evidence with flow proven, or by a person
 * at the board; anything else is unknown and treated as yes.
 * Coil: wet while flow is proven or stood for less than the refill window; may be dry after the
 * time to boil; the dry latch outlives everything but a person.
 */
#include "numbers.h"
#include "constants.h"
#include "sensing.h"
#include "state.h"
#include "types.h"

#define PROOF_S 5.0
/* A gap in the proof shorter than this does not undo it. */
#define GRACE_S 1.0
#define HEAT_RESERVE 1.25
/* Three such windows make the memory of the largest heat: ten to fifteen minutes. */
#define HEAT_WINDOW_S 300.0
#define HEATING_S 60.0
#define SMOKE_C 80.0
#define BURNT_OUT_S 1800.0
#define BURNT_OUT_LEAST_S 3600.0
#define DECLARED_S 14400.0
/* A minimum flow that nothing can give. */
#define ENDLESS_LPM 1000000.0

/* What one tick amounts to. Heats in watts, flows in litres a minute. */
typedef struct {
    int64_t fire;
    int64_t coil;
    bool dry;
    bool proven_now;
    bool proven;
    /* Everything but the meter says that water moves. */
    bool evidence;
    /* At least one witness that answers says that water stands. */
    bool still_known;
    double proof_s;
    double still_s;
    double window_s;
    /* Outlet over tank; NaN when not known. */
    double rise_k;
    double heat_now_w;
    double heat_before_w;
    double heat_earlier_w;
    double heat_window_s;
    double heat_w;
    double min_lpm;
    double heating_s;
    double heat_s;
    double cold_s;
    /* Pulses were seen in this tick. */
    bool water_moved;
    /* Since the tick before. */
    double gap_s;
    /* Too long for that: ticks are missing. */
    bool missed;
} Estimate;

void cold_enough(double metal_c, double flue_c, double limit_c, const Constants *constants,
    bool *first, bool *second);

double away_s(const Readings *readings);

void estimate(const Readings *readings, const Requests *requests, const Seen *seen,
    const Mode *mode, const Ages *ages, const Watch *watch, const Constants *constants,
    Estimate *out);

#endif
