#ifndef CHECKS_H
#define CHECKS_H

#include <stdint.h>

/* What a running board checks of itself, each once a tick at least. */
enum {
    CHECK_CONSTANTS, /* the numbers of the loop are those that were written */
    CHECK_STATE,     /* the state is the one that the last decision left */
    CHECK_DECISION,  /* deciding twice gives the same */
    CHECK_RAM,       /* every word can be turned over */
    CHECK_STACK,     /* the stack has not reached its end */
    CHECK_FLOW,      /* every step of a tick has been done, in order and in time */
    CHECK_CLOCK,     /* two clocks agree */
    CHECK_COUNT,
};

/* How often each has found something; outlives a restart. Never read by anything that decides. */
extern uint32_t checks_found[CHECK_COUNT];

#endif
