/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/phases.py; don't edit.
 */
#ifndef PHASES_H
#define PHASES_H

/*
 * The phase table: one ordered list, walked flat in the loop, drawn as a `transitions` machine.
 *
 * A row names the phases it starts from, the facts it needs, the facts it forbids and where it
 * goes. The first row that matches wins; no row matching means staying. The table reads facts
 * and nothing else, so it can be searched completely.
 */
#include "numbers.h"

#define BOOT INT64_C(0)
#define STANDBY INT64_C(1)
#define COLD_START INT64_C(2)
#define WARM_UP INT64_C(3)
#define RUN INT64_C(4)
#define DUMP INT64_C(5)
#define NO_FLOW INT64_C(6)
#define DRY INT64_C(7)
#define SHUTDOWN INT64_C(8)
#define FREEZE INT64_C(9)
#define DEGRADED INT64_C(10)
#define MAINTENANCE INT64_C(11)
#define ROW_DRY UINT64_C(0x1)
#define ROW_NO_FLOW UINT64_C(0x2)
#define ROW_SHUTDOWN UINT64_C(0x4)
#define ROW_DEGRADED UINT64_C(0x8)
#define ROW_DUMP UINT64_C(0x10)
#define FIRE_OUT UINT64_C(0x20)
#define COIL_MAY_BE_DRY UINT64_C(0x40)
#define PERSON_LATCHED UINT64_C(0x80)
#define HEAT_UNPERMITTED UINT64_C(0x100)
#define WATER_FOUND_MOVING UINT64_C(0x200)
#define BOOT_WAITED UINT64_C(0x400)
#define LINE_COLD UINT64_C(0x800)
#define LINE_WARM UINT64_C(0x1000)
#define PREPARE UINT64_C(0x2000)
#define CHECK_PASSED_AND_LIT UINT64_C(0x4000)
#define CHECK_OVER UINT64_C(0x8000)
#define FINISH UINT64_C(0x10000)
#define WARM UINT64_C(0x20000)
#define NO_HEAT UINT64_C(0x40000)
#define COOLED UINT64_C(0x80000)
#define FLOW_RETURNED UINT64_C(0x100000)
#define TANK_LOW_LOW UINT64_C(0x200000)
#define TANK_FINISHED UINT64_C(0x400000)
#define METER_DEAD_WATER_MOVES UINT64_C(0x800000)
#define INSTRUMENTS_CLEAN UINT64_C(0x1000000)
#define DRY_RESET UINT64_C(0x2000000)
#define KEY_AND_COLD UINT64_C(0x4000000)
#define KEY_OFF UINT64_C(0x8000000)
#define WAS_WARM_UP UINT64_C(0x10000000)
#define WAS_RUN UINT64_C(0x20000000)
#define WAS_DUMP UINT64_C(0x40000000)
#define WAS_SHUTDOWN UINT64_C(0x80000000)
#define WAS_DEGRADED UINT64_C(0x100000000)

int64_t next_phase(int64_t phase, uint64_t facts);

#endif
