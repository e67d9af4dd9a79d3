/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/debounce.py; don't
 * edit.
 */
#include "debounce.h"
#include "numbers.h"

const Counters QUIET = {.at = {UINT64_C(0x0), UINT64_C(0x0), UINT64_C(0x0), UINT64_C(0x0),
    UINT64_C(0x0), UINT64_C(0x0), UINT64_C(0x0), UINT64_C(0x0), UINT64_C(0x0), UINT64_C(0x0),
    UINT64_C(0x0), UINT64_C(0x0)}};

/* Counters one tick later: up by one where the cause is present, else zero. */
void count(uint64_t present, const Counters *counters, Counters *out)
{
    if (present == 0U) {
        *out = QUIET;
        return;
    }
    const uint64_t c0 = counters->at[0];
    const uint64_t c1 = counters->at[1];
    const uint64_t c2 = counters->at[2];
    const uint64_t c3 = counters->at[3];
    const uint64_t c4 = counters->at[4];
    const uint64_t c5 = counters->at[5];
    const uint64_t c6 = counters->at[6];
    const uint64_t c7 = counters->at[7];
    const uint64_t c8 = counters->at[8];
    const uint64_t c9 = counters->at[9];
    const uint64_t c10 = counters->at[10];
    const uint64_t c11 = counters->at[11];
    const uint64_t at_top = c0 & c1 & c2 & c3 & c4 & c5 & c6 & c7 & c8 & c9 & c10 & c11;
    const uint64_t k0 = present & ~at_top;
    const uint64_t k1 = c0 & k0;
    const uint64_t k2 = c1 & k1;
    const uint64_t k3 = c2 & k2;
    const uint64_t k4 = c3 & k3;
    const uint64_t k5 = c4 & k4;
    const uint64_t k6 = c5 & k5;
    const uint64_t k7 = c6 & k6;
    const uint64_t k8 = c7 & k7;
    const uint64_t k9 = c8 & k8;
    const uint64_t k10 = c9 & k9;
    const uint64_t k11 = c10 & k10;
    out->at[0] = (c0 ^ k0) & present;
    out->at[1] = (c1 ^ k1) & present;
    out->at[2] = (c2 ^ k2) & present;
    out->at[3] = (c3 ^ k3) & present;
    out->at[4] = (c4 ^ k4) & present;
    out->at[5] = (c5 ^ k5) & present;
    out->at[6] = (c6 ^ k6) & present;
    out->at[7] = (c7 ^ k7) & present;
    out->at[8] = (c8 ^ k8) & present;
    out->at[9] = (c9 ^ k9) & present;
    out->at[10] = (c10 ^ k10) & present;
    out->at[11] = (c11 ^ k11) & present;
}

/* Mask of the rows whose cause is present and has lasted for its threshold. */
uint64_t reached(uint64_t present, const Counters *counters, const Counters *thresholds)
{
    if (present == 0U) {
        return 0U;
    }
    uint64_t above = 0U;
    uint64_t equal = present;
    for (int64_t k = PLANES - 1; k > -1; k--) {
        above |= equal & counters->at[k] & ~thresholds->at[k];
        equal &= ~(counters->at[k] ^ thresholds->at[k]);
    }
    return above | equal;
}
