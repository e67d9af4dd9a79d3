/* Silence is for what was heard: a row that is new and loud sounds at once. */
#include "tick.h"

int main(void)
{
    Tick tick = any_tick();
    if ((tick.after.raised & ~tick.before.raised & HORN_CONTINUOUS) != 0U) {
        CLAIM(tick.told.horn == 3);
    }
    return 0;
}
