#ifndef LOOP_H
#define LOOP_H

#include "converting.h"
#include "loop_constants.h"

/* What this board is, beside its loop's constants: made from a loop file by
   coilward/hil/firmware/wiring.py. */
extern const Wiring LOOP_WIRING;
/* A word: what runs here, and its version. */
extern const char PROGRAM[];
/* A loop that must not be lit: this program drives nothing without the bench's jumper. */
extern const bool LOOP_BENCH_ONLY;

#endif
