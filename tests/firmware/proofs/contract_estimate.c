/* The contract that parts.h takes for granted of the estimate holds of the estimate itself. */
#include "claim.h"
#include "estimating.h"
#include "interlocks.h"
#include "phases.h"

int main(void)
{
    Readings readings;
    Requests requests;
    Seen seen;
    State state;
    Constants constants;
    Estimate now;
    GIVEN(state.mode.fire >= NO && state.mode.fire <= UNKNOWN);
    estimate(&readings, &requests, &seen, &state.mode, &state.ages, &state.watch, &constants, &now);
    CLAIM(now.fire >= NO && now.fire <= UNKNOWN);
    CLAIM(now.coil >= COLD && now.coil <= MAYBE_DRY);
    const Mode *mode = &state.mode;
    const bool locked = mode->dry || mode->phase == DRY || (mode->latched & LATCH_DRY) != 0U;
    CLAIM(now.dry || !locked);
    CLAIM(now.dry || now.coil != MAYBE_DRY);
    CLAIM(!now.dry || locked || now.fire != NO);
    return 0;
}
