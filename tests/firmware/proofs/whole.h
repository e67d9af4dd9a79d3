/* One whole tick as a board calls it, from a state of any bytes, as a damaged memory holds it. */
#ifndef WHOLE_H
#define WHOLE_H

#include "claim.h"
#include "coil.h"
#include "interlocks.h"
#include "phases.h"
#include "plausibility.h"
#include "prelight.h"

typedef struct {
    Readings readings;
    Requests requests;
    Constants constants;
    State state;
    Commands told;
} Whole;

static Whole any_whole_tick(void)
{
    Whole tick;
    GIVEN(tick.constants.valve.stop >= 0.0 && tick.constants.valve.stop <= 0.9);
    coil_decide(&tick.readings, &tick.requests, &tick.state, &tick.told, &tick.constants);
    return tick;
}

#endif
