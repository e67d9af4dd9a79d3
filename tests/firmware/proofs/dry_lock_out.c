/* In the dry lock-out the pump is off, whoever asks for what; the lock-out is latch and phase. */
#include "tick.h"

int main(void)
{
    Tick tick = any_tick();
    const Mode after = tick.after.mode;
    if (after.dry) {
        CLAIM(!tick.told.pump);
        CLAIM(!tick.told.may_light);
        CLAIM(!tick.told.damper_open);
        CLAIM(after.phase == DRY);
        CLAIM(after.coil == MAYBE_DRY);
    }
    return 0;
}
