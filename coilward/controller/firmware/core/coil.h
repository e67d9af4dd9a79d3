/*
 * The whole logic as one call a tick.
 *
 * A board fills in Readings (NOT_KNOWN where a channel does not answer) and Requests, keeps one
 * State through power cuts, and does what Commands say. There is no other state: no clock, no
 * heap, no global that changes.
 *
 * Truths in a State that comes from a memory or a wire must be false or true; everything else
 * may be damaged: a state that can't be goes on as after a restart, with a fire believed in.
 */
#ifndef COIL_H
#define COIL_H

#include "constants.h"
#include "numbers.h"
#include "state.h"
#include "types.h"

/* The state of a new board: standby, no fire. */
void coil_first(State *state, const Constants *constants);

/* What a board makes of the state that it finds in its memory when it starts again. */
void coil_restart(State *state);

/* One tick: the state becomes the next one, and the commands are written. */
void coil_decide(const Readings *readings, const Requests *requests, State *state,
    Commands *commands, const Constants *constants);

#endif
