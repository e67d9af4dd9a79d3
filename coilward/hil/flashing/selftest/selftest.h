#ifndef SELFTEST_H
#define SELFTEST_H

#include <stddef.h>
#include <stdint.h>

#include "flat.h"

/* One tick: what is given, and what has to follow. */
typedef struct {
    double readings[READINGS_FLOATS];
    uint64_t requests;
    uint32_t digest;
} Step;

/* Ticks that follow each other from one state. */
typedef struct {
    const char *words;
    const double *floats;
    const int64_t *wholes;
    const Step *steps;
    size_t count;
} Scene;

extern const Scene SCENES[];
extern const size_t SCENES_COUNT;

/* Where the logic first answered something else; `scene` is SCENES_COUNT where it never did. */
typedef struct {
    size_t scene;
    size_t tick;
} Differs;

/* Plays every scene to the logic, with the constants of this loop. */
Differs selftest(void);

#endif
