/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/plausibility.py; don't
 * edit.
 */
#include "plausibility.h"
#include "numbers.h"

/* Nothing suspected, nothing remembered. */
Doubt fresh_doubt(void)
{
    const double nan = NOT_KNOWN;
    return (Doubt){
        .suspects = 0U,
        .slow_outlet_c = nan,
        .slow_inlet_c = nan,
        .slow_rise_k = nan,
        .raw_a_c = nan,
        .same_a_s = 0.0,
        .near_a_c = nan,
        .raw_b_c = nan,
        .same_b_s = 0.0,
        .near_b_c = nan,
        .raw_tank_c = nan,
        .same_tank_s = 0.0,
        .residual_s = 0.0,
        .rise_low_k = nan,
        .rise_high_k = nan,
        .flue_low_c = nan,
        .flue_high_c = nan,
        .watched_s = 0.0,
        .foul_s = 0.0,
    };
}
