/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/plausibility.py; don't
 * edit.
 */
#include "plausibility.h"
#include "numbers.h"

/* Nothing suspected, nothing remembered. */
void fresh_doubt(Doubt *out)
{
    const double nan = NOT_KNOWN;
    out->suspects = 0U;
    out->slow_outlet_c = nan;
    out->slow_inlet_c = nan;
    out->slow_rise_k = nan;
    out->raw_a_c = nan;
    out->same_a_s = 0.0;
    out->near_a_c = nan;
    out->raw_b_c = nan;
    out->same_b_s = 0.0;
    out->near_b_c = nan;
    out->raw_tank_c = nan;
    out->same_tank_s = 0.0;
    out->residual_s = 0.0;
    out->rise_low_k = nan;
    out->rise_high_k = nan;
    out->flue_low_c = nan;
    out->flue_high_c = nan;
    out->watched_s = 0.0;
    out->foul_s = 0.0;
}
