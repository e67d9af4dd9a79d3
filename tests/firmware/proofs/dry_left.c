/* The dry latch is left by a person's reset alone, at a fire that is out and a full tank. */
#include "tick.h"

int main(void)
{
    Tick tick = any_tick();
    const Mode before = tick.before.mode;
    const Mode after = tick.after.mode;
    if (before.dry && !after.dry) {
        CLAIM(tick.requests.reset && before.phase == DRY);
        CLAIM(after.fire == NO);
        CLAIM(!tick.constants.fitted.level || tick.readings.level_low < 0.5);
        CLAIM(after.phase == STANDBY);
    }
    return 0;
}
