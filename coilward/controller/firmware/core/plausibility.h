/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/plausibility.py; don't
 * edit.
 */
#ifndef PLAUSIBILITY_H
#define PLAUSIBILITY_H

/*
 * What readings are held against each other: the rules, and what they remember.
 *
 * A rule that fails marks a reading as lost or in doubt, or raises a row that only tells; none
 * starts or stops water by itself. The rules that need time are judged once a second. `RULES` is
 * the whole list, with those that the logic does not apply and why.
 */
#include "numbers.h"

/* What is suspected, as bits. */
#define OUTLET_A_FROZEN UINT64_C(0x1)
#define OUTLET_B_FROZEN UINT64_C(0x2)
#define TANK_FROZEN UINT64_C(0x4)
#define OUTLET_LOW UINT64_C(0x8)
#define OUTLET_UNMOVED UINT64_C(0x10)
#define RESIDUAL UINT64_C(0x20)
#define RESIDUAL_LASTS UINT64_C(0x40)
#define PLAUSIBILITY_FLOW_ODD UINT64_C(0x80)
#define GUARD_LOST UINT64_C(0x100)
#define AIR_FOUL UINT64_C(0x200)
#define EVERY_SUSPICION UINT64_C(0x3ff)

/* What the rules that need time remember. Starts afresh after a reboot. */
typedef struct {
    uint64_t suspects;
    double slow_outlet_c;
    double slow_inlet_c;
    double slow_rise_k;
    double raw_a_c;
    double same_a_s;
    /* What the neighbour read when outlet thermometer A last moved. */
    double near_a_c;
    double raw_b_c;
    double same_b_s;
    double near_b_c;
    double raw_tank_c;
    double same_tank_s;
    double residual_s;
    double rise_low_k;
    double rise_high_k;
    double flue_low_c;
    double flue_high_c;
    /* How long rise and flue have been watched for rule 14. */
    double watched_s;
    double foul_s;
} Doubt;

void fresh_doubt(Doubt *out);

#endif
