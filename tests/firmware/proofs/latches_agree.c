/* By induction: the dry latch, the dry phase and the latches of the dry rows go together. */
#include "tick.h"

int main(void)
{
    Tick tick = any_tick();
    if (latches_agree(&tick.before.mode)) {
        CLAIM(latches_agree(&tick.after.mode));
        CLAIM(tick.told.pump == 0 || tick.after.mode.phase != DRY);
    }
    return 0;
}
