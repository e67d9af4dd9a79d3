/*
 * By induction over ticks, for any row: its counter is the number of ticks for which its cause
 * has been present without a gap, up to 4,095, and it counts from its threshold on.
 */
#include "claim.h"
#include "debounce.h"

static uint32_t counter_of(const Counters *counters, uint32_t row)
{
    uint32_t counter = 0U;
    for (uint32_t k = 0U; k < 12U; k++) {
        counter |= (uint32_t)((counters->at[k] >> row) & 1U) << k;
    }
    return counter;
}

static uint32_t shown(uint32_t ticks)
{
    return (ticks < 4095U) ? ticks : 4095U;
}

int main(void)
{
    uint32_t row;
    uint32_t ticks;
    uint64_t present;
    Counters before;
    Counters after;
    Counters thresholds;
    GIVEN(row < 62U && ticks < UINT32_MAX);
    GIVEN(counter_of(&before, row) == shown(ticks));

    const bool here = ((present >> row) & 1U) != 0U;
    const uint32_t lasted = here ? (ticks + 1U) : 0U;
    count(present, &before, &after);
    CLAIM(counter_of(&after, row) == shown(lasted));

    const uint64_t counts = reached(present, &after, &thresholds);
    const uint32_t threshold = counter_of(&thresholds, row);
    CLAIM((((counts >> row) & 1U) != 0U) == (here && shown(lasted) >= threshold));
    CLAIM(counter_of(&QUIET, row) == 0U);
    return 0;
}
