#include "coil.h"
#include "decide.h"
#include "phases.h"

void coil_first(State *state, const Constants *constants)
{
    first_state(constants, STANDBY, NO, state);
}

void coil_restart(State *state)
{
    const State found = *state;
    after_reboot(&found, state);
}

/* The rare case, with room of its own that is free again before the decision. */
static void coil_mend(State *state, const Constants *constants)
{
    const State found = *state;
    restarted(&found, constants, state);
}

void coil_decide(const Readings *readings, const Requests *requests, State *state,
    Commands *commands, const Constants *constants)
{
    Decision decision;
    if (!is_sound(state)) {
        coil_mend(state, constants);
    }
    decided(readings, requests, state, constants, &decision);
    *state = decision.state;
    *commands = decision.commands;
}
