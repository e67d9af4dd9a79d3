/* A tick starts from sound whole numbers: found so, or from a restart that believes in a fire. */
#include "coil.h"
#include "parts.h"

int main(void)
{
    State state;
    Constants constants;
    if (is_sound(&state)) {
        CLAIM(wholes_sound(&state));
    } else {
        State found;
        restarted(&state, &constants, &found);
        CLAIM(wholes_sound(&found));
        CLAIM(found.mode.phase == BOOT && found.mode.fire == UNKNOWN);
        CLAIM((found.mode.dry != 0) == (state.mode.dry != 0));
        CLAIM(found.mode.latched == (state.mode.latched & EVERY_ROW));
        CLAIM(!found.mode.permitted);
    }
    return 0;
}
