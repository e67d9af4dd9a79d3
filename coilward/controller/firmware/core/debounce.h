/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/debounce.py; don't
 * edit.
 */
#ifndef DEBOUNCE_H
#define DEBOUNCE_H

/*
 * One counter a row, and all rows counted at once.
 *
 * A cause must last before it is believed. Each interlock row has a saturating counter of the
 * ticks for which its cause has been present without a gap. The counters of all rows lie side
 * by side in *bit planes*: bit r of plane k is bit k of row r's counter. Adding one to every
 * counter whose cause is present is then a row of half adders, and comparing every counter
 * with its own threshold is one comparator: the work is the same whatever the number of rows
 * and whatever the causes, and a quiet tick costs nothing.
 */
#include "numbers.h"

/* Counters run to 4,095 ticks: 17 minutes at a quarter of a second. */
#define PLANES INT64_C(12)

typedef struct {
    uint64_t at[12];
} Counters;

extern const Counters QUIET;

void count(uint64_t present, const Counters *counters, Counters *out);

uint64_t reached(uint64_t present, const Counters *counters, const Counters *thresholds);

#endif
