/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/facts.py; don't edit.
 */
#ifndef FACTS_H
#define FACTS_H

/* The booleans that the phase table reads, computed once a tick. */
#include "numbers.h"
#include "constants.h"
#include "estimating.h"
#include "latching.h"
#include "sensing.h"
#include "state.h"
#include "types.h"

#define COOLED_S 300.0
/* A dump that was opened over a fire stays open for so long: it never chatters. */
#define DUMP_LEAST_S 60.0
#define NO_HEAT_S 1800.0
#define NO_HEAT_WARM_UP_S 2700.0
#define WARM_C 55.0
#define LINE_COLD_C 4.0
#define LINE_WARM_S 900.0
#define BOOT_S 3.0

uint64_t facts_of(uint64_t active, uint64_t raised, const Readings *readings,
    const Requests *requests, const Seen *seen, const Estimate *now, const Latched *kept,
    const Mode *mode, const Ages *ages, const Watch *watch, const Constants *constants);

#endif
