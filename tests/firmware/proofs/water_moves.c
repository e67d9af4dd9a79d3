/* While a fire may be in, the pump runs: but for the dry lock-out, the start, and a retry. */
#include "tick.h"

int main(void)
{
    Tick tick = any_tick();
    const Mode after = tick.after.mode;
    const bool retrying = after.phase == NO_FLOW && tick.after.control.retry_off_s > 0.0;
    CLAIM(tick.told.pump || after.fire == NO || after.dry || after.phase == BOOT || retrying);
    return 0;
}
