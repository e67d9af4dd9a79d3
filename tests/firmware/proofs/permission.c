/* Nobody may light but after the whole check, with nothing latched and no lock-out. */
#include "tick.h"

int main(void)
{
    Tick tick = any_tick();
    const Mode after = tick.after.mode;
    CLAIM((tick.told.may_light != 0) == (after.permitted != 0));
    if (tick.told.may_light) {
        CLAIM(after.latched == 0U);
        CLAIM((tick.after.raised & LATCHING) == 0U);
        CLAIM(after.phase == COLD_START && tick.before.mode.phase == COLD_START);
        CLAIM(tick.after.control.passed == ALL);
        CLAIM(!after.dry);
    }
    return 0;
}
