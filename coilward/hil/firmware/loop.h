#ifndef LOOP_H
#define LOOP_H

#include "constants.h"
#include "converting.h"

/* The loop that this board is for: written by coilward.hil.emulated.building from a loop file. */
extern const Constants LOOP_CONSTANTS;
extern const Wiring LOOP_WIRING;
extern const char PROGRAM[];

#endif
