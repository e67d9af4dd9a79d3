#include "coil.h"
#include "decide.h"
#include "phases.h"

void coil_first(State *state, const Constants *constants)
{
    *state = first_state(constants, STANDBY, NO);
}

void coil_restart(State *state)
{
    *state = after_reboot(state);
}

void coil_decide(const Readings *readings, const Requests *requests, State *state,
    Commands *commands, const Constants *constants)
{
    const Decision decision = decide(readings, requests, state, constants);
    *state = decision.state;
    *commands = decision.commands;
}
