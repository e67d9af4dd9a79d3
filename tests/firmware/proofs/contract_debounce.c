/* What emergency.c takes for granted of the debounce: a row's bit follows from its own causes. */
#include "claim.h"
#include "debounce.h"

int main(void)
{
    uint32_t row;
    uint64_t present;
    uint64_t others;
    Counters before;
    Counters after;
    Counters after_others;
    Counters thresholds;
    GIVEN(row < 64U && ((present ^ others) >> row & 1U) == 0U);
    count(present, &before, &after);
    count(others, &before, &after_others);
    const uint64_t counts = reached(present, &after, &thresholds);
    const uint64_t others_count = reached(others, &after_others, &thresholds);
    CLAIM(((counts ^ others_count) >> row & 1U) == 0U);
    CLAIM((counts & ~present) == 0U);
    return 0;
}
