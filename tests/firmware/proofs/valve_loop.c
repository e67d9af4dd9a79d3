/*
 * By induction, the valve's loop stays within its limits: stroke between stop and open, the
 * integral, which is the target itself, between what is least needed and what the loop can give.
 */
#include "valve.h"
#include "floats.h"

#define MOST_LPM 500.0
#define MOST_K 1000.0
#define MOST_S 1e9

static bool between(double low, double x, double high)
{
    return x >= low && x <= high;
}

/* What loop/model.py admits, with room. */
static bool constants_can_be(const Constants *constants)
{
    const Throttling *rule = &constants->throttling;
    return between(0.0, constants->valve.stop, 0.9) && between(0.01, constants->tick_s, 1.0)
        && between(0.0, constants->valve.backlash, 0.5)
        && between(0.1, constants->water.open_lpm, MOST_LPM)
        && between(0.0, constants->water.stop_lpm, MOST_LPM)
        && between(-MOST_K, constants->limits.set_point_c, MOST_K)
        && between(1.0, rule->every_s, 1000.0) && between(0.0, rule->gain, 10.0)
        && between(0.0, rule->gain_slope, 10.0) && between(0.01, rule->reset_transits, 100.0)
        && between(0.0, constants->reckoned.reset_lag_s, 1e5)
        && between(0.01, constants->reckoned.least_slope_lpm, MOST_LPM)
        && between(0.0, rule->dead_band_k, 10.0)
        && between(0.0, rule->flow_band, 1.0);
}

static bool loop_can_be(double stroke, double target_lpm, double error_k, const Constants *constants)
{
    return between(constants->valve.stop, stroke, 1.0) && between(0.0, target_lpm, MOST_LPM)
        && between(-2.0 * MOST_K, error_k, 2.0 * MOST_K);
}

/* The flow at a stroke is a number, for a curve of numbers. */
double installed_lpm(double stroke, const Constants *constants)
{
    double flow_lpm;
    GIVEN(between(-1e6, flow_lpm, 1e6));
    return flow_lpm;
}

int main(void)
{
    bool entering;
    bool busy;
    Seen seen;
    Estimate now;
    Control control;
    Constants constants;
    GIVEN(constants_can_be(&constants));
    GIVEN(loop_can_be(control.valve, control.target_lpm, control.error_k, &constants));
    GIVEN(between(0.0, control.moved_s, MOST_S));
    GIVEN(seen.outlet_c != seen.outlet_c || between(-MOST_K, seen.outlet_c, MOST_K));
    GIVEN(!seen.flow_good || between(TRUSTED_LPM, seen.flow_lpm, POSSIBLE_LPM));
    GIVEN(between(1e-3, seen.transit_s, 1e7));
    GIVEN(now.rise_k != now.rise_k || between(-2.0 * MOST_K, now.rise_k, 2.0 * MOST_K));
    GIVEN(between(0.0, now.min_lpm, ENDLESS_LPM));
    const Throttle loop = throttle(entering, busy, &seen, &now, &control, &constants);
    CLAIM(loop_can_be(loop.valve, loop.target_lpm, loop.error_k, &constants));
    CLAIM(between(0.0, loop.moved_s, MOST_S + 1.0));
    const bool moved = !entering && loop.moved_s == 0.0;
    CLAIM(!moved || between(now.min_lpm, loop.target_lpm, constants.water.open_lpm));
    CLAIM(!moved || loop.target_lpm >= constants.water.stop_lpm);
    return 0;
}
