/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/valve.py; don't edit.
 */
#ifndef VALVE_H
#define VALVE_H

/*
 * The valve in the run phase: the outlet's temperature through the flow.
 *
 * A PI rule in velocity form moves a flow target once in ten seconds (later for a slow valve);
 * its gain and reset time follow the flow, because the loop's gain and lag both grow as the flow
 * falls:
 *
 *     Kc = (gain + gain_slope (V_open / V - 1)) V / (T_out - T_tank)
 *     Ti = reset_transits V_coil / V + reset_lags tau_sensor
 *
 * The numbers are the loop file's; where it gives none the gain is 1/4 at any flow, and the times
 * are 1/2 and 1.
 * The target is clamped between the minimum flow of the moment with its reserve and what the
 * loop can give. The integral is the clamped target itself, so it cannot wind up, and entering
 * the phase takes over the present flow, so it cannot bump. The stroke follows from the flow
 * that is measured and the slope of the installed curve; moves toward shut go past their goal
 * by the backlash and come back, so that the valve always arrives from the closed side.
 */
#include "numbers.h"
#include "constants.h"
#include "estimating.h"
#include "sensing.h"
#include "state.h"

#define HURRY_S 2.0
/* A smaller rise is too uncertain to reckon a gain with. */
#define LEAST_RISE_K 5.0
/* Of the minimum flow. */
#define RESERVE 1.15
/* A smaller move of the stroke is not worth the servo's while. */
#define LEAST_MOVE 0.005
/* Time for which a closing move stands beyond its goal. */
#define PASS_S 1.0

/* Valve loop after a tick. */
typedef struct {
    double target_lpm;
    double error_k;
    double moved_s;
    double valve;
    bool closing;
} Throttle;

/* The valve loop outside the run phase. */
extern const Throttle REST;

Throttle throttle(bool entering, bool busy, const Seen *seen, const Estimate *now,
    const Control *control, const Constants *constants);

double output_stroke(const Throttle *loop, const Constants *constants);

#endif
