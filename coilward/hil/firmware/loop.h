#ifndef LOOP_H
#define LOOP_H

#include "converting.h"
#include "loop_constants.h"
#include "memory.h"

/* What this board is, beside its loop's constants: made from a loop file by
   coilward/hil/firmware/wiring.py. */
extern const Wiring LOOP_WIRING;
/* The same numbers once more, to go on by when the others are damaged. */
extern const Constants SPARE_CONSTANTS;
extern const Wiring SPARE_WIRING;

/* Every number of both, and the CRC-32 of each quarter of them, in eight bytes a number. */
typedef struct {
    bool wired; /* of the wiring, else of the constants */
    Member member;
} LoopMember;
extern const int LOOP_MEMBERS;
extern const LoopMember LOOP_MEMBER[];
enum { LOOP_QUARTERS = 4 };
extern const uint32_t LOOP_CRC[LOOP_QUARTERS];

/* A word: what runs here, and its version. */
extern const char PROGRAM[];
/* A loop that must not be lit: this program drives nothing without the bench's jumper. */
extern const bool LOOP_BENCH_ONLY;

#endif
