#include "block.h"
#include "coil.h"
#include "flat.h"

static void take_state(int64_t columns, int64_t at, const double *was_floats,
    const int64_t *was_wholes, State *state)
{
    double floats[STATE_FLOATS];
    int64_t wholes[STATE_WHOLES];
    for (int64_t k = 0; k < STATE_FLOATS; k++) {
        floats[k] = was_floats[(k * columns) + at];
    }
    for (int64_t k = 0; k < STATE_WHOLES; k++) {
        wholes[k] = was_wholes[(k * columns) + at];
    }
    state_of(floats, wholes, state);
}

static void put(int64_t ticks, int64_t at, const State *state, const Commands *commands,
    double *floats, int64_t *wholes)
{
    double found[STATE_FLOATS + COMMANDS_FLOATS];
    int64_t counted[STATE_WHOLES + COMMANDS_WHOLES];
    flat_state(state, found, counted);
    flat_commands(commands, &found[STATE_FLOATS], &counted[STATE_WHOLES]);
    for (int64_t k = 0; k < (STATE_FLOATS + COMMANDS_FLOATS); k++) {
        floats[(k * ticks) + at] = found[k];
    }
    for (int64_t k = 0; k < (STATE_WHOLES + COMMANDS_WHOLES); k++) {
        wholes[(k * ticks) + at] = counted[k];
    }
}

void coil_block(const Constants *constants, int64_t ticks, bool each, const double *came,
    const uint64_t *asked, const double *was_floats, const int64_t *was_wholes, double *floats,
    int64_t *wholes)
{
    State state;
    for (int64_t at = 0; at < ticks; at++) {
        double values[READINGS_FLOATS];
        Readings readings;
        Commands commands;
        for (int64_t k = 0; k < READINGS_FLOATS; k++) {
            values[k] = came[(k * ticks) + at];
        }
        readings_of(values, &readings);
        if (each || (at == 0)) {
            take_state(each ? ticks : 1, at, was_floats, was_wholes, &state);
        }
        const Requests requests = requests_of(asked[at]);
        coil_decide(&readings, &requests, &state, &commands, constants);
        put(ticks, at, &state, &commands, floats, wholes);
    }
}
