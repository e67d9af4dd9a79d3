/* Made by `python -m coilward.controller.firmware`; don't edit. */
#ifndef FLAT_H
#define FLAT_H

/*
 * Structures as plain rows of numbers: what a wire, a memory and a checksum want.
 *
 * A state is its floats and its whole numbers, truths among them as 0 or 1, each in the order of
 * the fields. Requests are a mask: bit n is the n-th field.
 */
#include "state.h"
#include "types.h"

#define READINGS_FLOATS 25
#define STATE_FLOATS 76
#define STATE_WHOLES 30
#define COMMANDS_FLOATS 2
#define COMMANDS_WHOLES 5

void readings_of(const double floats[READINGS_FLOATS], Readings *readings);

Requests requests_of(uint64_t mask);

void flat_state(const State *state, double floats[STATE_FLOATS], int64_t wholes[STATE_WHOLES]);

/* Any whole number but 0 makes a truth true. */
void state_of(const double floats[STATE_FLOATS], const int64_t wholes[STATE_WHOLES], State *state);

void flat_commands(const Commands *commands, double floats[COMMANDS_FLOATS],
    int64_t wholes[COMMANDS_WHOLES]);

#endif
