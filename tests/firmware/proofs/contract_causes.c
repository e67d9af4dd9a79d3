/* The contract that parts.h takes for granted of the causes holds of the causes themselves. */
#include "claim.h"
#include "causing.h"
#include "interlocks.h"

int main(void)
{
    Readings readings;
    Requests requests;
    Seen seen;
    Estimate now;
    State state;
    Constants constants;
    double hand_s;
    const Requests asked = requests;
    const uint64_t cause = causes(&readings, &requests, &seen, &now, &state.mode, &state.ages,
        &state.watch, state.doubt.suspects, &state.control, hand_s, state.raised, state.seen,
        &constants);
    CLAIM(cause <= EVERY_ROW);
    CLAIM(now.fire != NO || (cause & ~ANY_TIME) == 0U);
    CLAIM(((cause & EMERGENCY) != 0U) == (asked.emergency != 0));
    return 0;
}
