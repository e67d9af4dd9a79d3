/* In the dry lock-out valve and dump stay where they are, whatever a hand or a row asks. */
#include "tick.h"

int main(void)
{
    Tick tick = any_tick();
    if (tick.after.mode.phase == DRY) {
        CLAIM(tick.told.valve == held_stroke(&tick));
        CLAIM((tick.told.dump_open != 0) == (tick.before.control.dump_open != 0));
    }
    return 0;
}
