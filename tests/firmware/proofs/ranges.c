/* Whatever goes in, what the outputs are told and what is remembered stays in its range. */
#include "tick.h"

int main(void)
{
    const Tick tick = any_tick();
    const Commands told = tick.told;
    CLAIM(told.valve >= tick.constants.valve.stop && told.valve <= 1.0);
    CLAIM(told.fans == 0.0 || told.fans == 0.5 || told.fans == 1.0);
    CLAIM(told.horn >= 0 && told.horn <= 3);

    const Mode mode = tick.after.mode;
    CLAIM(mode.phase >= 0 && mode.phase <= LAST_PHASE);
    CLAIM(mode.came_from >= 0 && mode.came_from <= LAST_PHASE);
    CLAIM(mode.fire >= NO && mode.fire <= UNKNOWN);
    CLAIM(mode.coil >= COLD && mode.coil <= MAYBE_DRY);
    CLAIM(mode.first_out >= -1 && mode.first_out <= LAST_ROW);
    CLAIM(mode.latched <= EVERY_ROW);
    CLAIM(tick.after.raised <= EVERY_ROW && tick.after.seen <= EVERY_ROW);
    return 0;
}
