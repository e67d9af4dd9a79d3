/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/decide.py; don't edit.
 */
#ifndef DECIDE_H
#define DECIDE_H

/*
 * One tick: readings and requests in, commands and the next state out.
 *
 *     sense -> estimate -> causes -> debounce, latch -> facts -> next phase -> commands
 *
 * `decide` is total: any floats, NaN and infinity included, any requests, any state. It is
 * pure: no clock, no memory but the state it is given. It never raises.
 */
#include "numbers.h"
#include "constants.h"
#include "state.h"
#include "types.h"

#define SILENCE_S 300.0
#define RETURNS_S 600.0

/* What a tick decides. */
typedef struct {
    State state;
    Commands commands;
} Decision;

void decided(const Readings *readings, const Requests *requests, const State *state,
    const Constants *constants, Decision *out);

#endif
