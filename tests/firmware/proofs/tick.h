/*
 * One tick with any readings, requests, constants and results of its parts (parts.h), from a
 * state whose whole numbers are sound and whose other bytes are any.
 */
#ifndef TICK_H
#define TICK_H

#include "decide.h"
#include "parts.h"

typedef struct {
    Readings readings;
    Requests requests;
    Constants constants;
    State before;
    State after;
    Commands told;
} Tick;

static void decide_in(Tick *tick)
{
    Decision decision;
    decided(&tick->readings, &tick->requests, &tick->before, &tick->constants, &decision);
    tick->after = decision.state;
    tick->told = decision.commands;
}

static Tick any_tick(void)
{
    Tick tick;
    any_parts();
    GIVEN(wholes_sound(&tick.before));
    GIVEN(tick.constants.valve.stop >= 0.0 && tick.constants.valve.stop <= 0.9);
    decide_in(&tick);
    return tick;
}

/* Where a valve that is held stands: where it was, within stop and open. */
static double held_stroke(const Tick *tick)
{
    const double stop = tick->constants.valve.stop;
    const double was = tick->before.control.valve;
    if (!(was >= stop)) {
        return stop;
    }
    return (was > 1.0) ? 1.0 : was;
}

#endif
