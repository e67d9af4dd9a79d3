/*
 * The dry latch, the dry phase and the latches of the dry rows go together after any tick, also from
 * a damaged memory that has but one of them.
 */
#include "tick.h"

int main(void)
{
    Tick tick = any_tick();
    const Mode after = tick.after.mode;
    CLAIM(after.dry || after.phase != DRY);
    CLAIM(after.dry || (after.latched & LATCH_DRY) == 0U);
    CLAIM(!tick.told.pump || after.phase != DRY);
    return 0;
}
