/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/prelight.py; don't
 * edit.
 */
#ifndef PRELIGHT_H
#define PRELIGHT_H

/* The check before a fire: four minutes in which everything that will be needed is used once. */
#include "numbers.h"
#include "constants.h"
#include "estimating.h"
#include "sensing.h"
#include "types.h"

#define BATTERY UINT64_C(0x1)
#define LEVEL UINT64_C(0x2)
#define FLOW_OPEN UINT64_C(0x4)
#define FLOW_STOP UINT64_C(0x8)
#define FANS UINT64_C(0x10)
#define DAMPER_OPENS UINT64_C(0x20)
#define DAMPER_SHUTS UINT64_C(0x40)
#define AGREE UINT64_C(0x80)
#define LINES UINT64_C(0x100)
#define SWITCH UINT64_C(0x200)
#define AIR UINT64_C(0x400)
#define CONSTANTS UINT64_C(0x800)
#define ALL UINT64_C(0xfff)
#define REST_S 3.0
#define OPEN_S 45.0
#define STOP_S 85.0
#define FANS_S 100.0
#define DAMPER_S 110.0
#define SHUT_S 118.0
#define DUMP_S 126.0
#define HORN_S 127.0
#define DONE_S 240.0
#define GIVEN_S 1800.0
#define AGREE_K 1.0
#define CLEAN_PPM 9.0

uint64_t passed_checks(uint64_t passed, double phase_s, const Readings *readings, const Seen *seen,
    const Estimate *now, const Constants *constants);

#endif
