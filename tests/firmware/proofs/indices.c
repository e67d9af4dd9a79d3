/*
 * No index leaves its array: the curve's, which copying.py makes an object of its own, and those of
 * the flat rows of numbers. phases_only.c and debounce.c tell it of the other tables.
 */
#include "causing.h"
#include "claim.h"
#include "flat.h"

int main(void)
{
    Constants constants;
    double stroke;
    installed_lpm(stroke, &constants);

    double readings[READINGS_FLOATS];
    double floats[STATE_FLOATS];
    int64_t wholes[STATE_WHOLES];
    double command_floats[COMMANDS_FLOATS];
    int64_t command_wholes[COMMANDS_WHOLES];
    Readings seen;
    State state;
    Commands told;
    readings_of(readings, &seen);
    for (int i = 0; i < STATE_WHOLES; i++) {
        GIVEN(wholes[i] >= 0);
    }
    state_of(floats, wholes, &state);
    flat_state(&state, floats, wholes);
    flat_commands(&told, command_floats, command_wholes);
    return 0;
}
