/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/reckoned.py; don't
 * edit.
 */
#ifndef RECKONED_H
#define RECKONED_H

/*
 * What every tick would reckon from the same constants, reckoned once for a loop.
 *
 * Sums of constants alone are no work for a board: it is given their results, and each stands here
 * under a name with the share or the margin that makes it.
 */
#include "numbers.h"

/* Between two judgings of whether readings can be true. */
#define SECOND_S 1.0
#define GUARD_RUN_S 180.0

/* Results of sums that have only constants in them. */
typedef struct {
    double judged_late_s;
    /* A longer gap between two ticks has ticks missing in it. */
    double missed_s;
    /* Outlet over its filter at the largest slope that is believed. */
    double outlet_rises_k;
    double outlet_spins_k;
    double outlet_rests_c;
    double outlet_cooled_c;
    double tank_cooled_c;
    /* What heats the coil at its hottest place. */
    double boil_j_k;
    /* Flow that fills the coil in a second. */
    double coil_lpm_s;
    /* Lag of the outlet's thermometer, and one tick. */
    double lag_and_tick_s;
    double slug_s;
    double dump_helps_s;
    double least_heat_w;
    /* Outlet over tank from which warm-up is over. */
    double warm_k;
    /* What the open valve's flow carries. */
    double open_w_k;
    double healthy_lpm;
    double supply_low_v;
    double supply_rests_v;
    /* Supply that a litre a minute needs. */
    double needs_v_lpm;
    /* The freeze guard's run and rest together. */
    double guard_turn_s;
    double pump_rests_a;
    double fans_least_a;
    double radiator_weak_w_k;
    /* Least share of the curve's flow, for each volt of the supply. */
    double curve_low_v;
    double curve_high_v;
    double valve_answers_s;
    double valve_judged_s;
    double valve_settles_s;
    double least_slope_lpm;
    double reset_lag_s;
    double gap_k;
    double low_rise_k;
} Reckoned;

#endif
