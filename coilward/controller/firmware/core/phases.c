/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/phases.py; don't edit.
 */
#include "phases.h"
#include "numbers.h"

static const uint64_t NEEDS[88] = {64U, 32U, 1U, 640U, 2147484160U, 4294967808U, 1073742336U, 512U,
    1024U, 64U, 1U, 256U, 67108864U, 8192U, 2048U, 64U, 1U, 256U, 16512U, 16384U, 65536U, 32768U,
    1U, 64U, 2U, 4U, 65536U, 32U, 8U, 16U, 128U, 4194304U, 262144U, 131072U, 1U, 64U, 2U, 4U,
    65536U, 32U, 8U, 16U, 128U, 4194304U, 262144U, 1U, 64U, 2U, 4U, 65536U, 32U, 8U, 524416U,
    524288U, 1U, 64U, 1048608U, 1048704U, 3145728U, 269484032U, 537919488U, 1074790400U,
    4296015872U, 1048576U, 8388608U, 33554432U, 1U, 64U, 2U, 32U, 64U, 1U, 256U, 67108864U, 8192U,
    4096U, 1U, 64U, 2U, 4U, 65536U, 32U, 16777216U, 262144U, 64U, 1U, 256U, 134217728U};

static const uint8_t FORBIDS[88] = {0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 128U, 0U,
    0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U,
    0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 16U, 16U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U,
    0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 128U, 0U, 0U, 0U, 0U, 0U, 0U, 0U, 128U, 0U, 0U,
    0U, 0U, 0U};

static const uint8_t TARGET[88] = {7U, 1U, 7U, 8U, 8U, 10U, 5U, 3U, 6U, 7U, 7U, 8U, 11U, 2U, 9U, 7U,
    7U, 8U, 8U, 3U, 1U, 1U, 7U, 7U, 6U, 8U, 8U, 8U, 10U, 5U, 8U, 8U, 8U, 4U, 7U, 7U, 6U, 8U, 8U, 8U,
    10U, 5U, 8U, 8U, 8U, 7U, 7U, 6U, 8U, 8U, 8U, 10U, 8U, 4U, 7U, 7U, 8U, 8U, 8U, 3U, 4U, 5U, 10U,
    8U, 10U, 1U, 7U, 7U, 6U, 1U, 7U, 7U, 8U, 11U, 2U, 1U, 7U, 7U, 6U, 8U, 8U, 8U, 4U, 8U, 7U, 7U,
    8U, 1U};

/* The rows of phase p are FIRST[p] to FIRST[p + 1] of the flat lists. */
static const uint8_t FIRST[13] = {0U, 9U, 15U, 22U, 34U, 45U, 54U, 65U, 66U, 70U, 76U, 84U, 88U};

/* The flat walk: the phase of the next tick. */
int64_t next_phase(int64_t phase, uint64_t facts)
{
    for (int64_t row = (int64_t)FIRST[phase]; row < (int64_t)FIRST[phase + 1]; row++) {
        if (((facts & NEEDS[row]) == NEEDS[row]) && ((facts & FORBIDS[row]) == 0U)) {
            return (int64_t)TARGET[row];
        }
    }
    return phase;
}
