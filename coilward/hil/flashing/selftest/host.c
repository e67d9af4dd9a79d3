/* The self-test as a program of the computer on which the board's program is built. */
#include <stdio.h>

#include "selftest.h"

int main(void)
{
    Differs differs = selftest();
    if (differs.scene < SCENES_COUNT) {
        printf("self-test: %s: tick %u differs\n", SCENES[differs.scene].words,
            (unsigned)differs.tick);
        return 1;
    }
    size_t ticks = 0;
    for (size_t scene = 0; scene < SCENES_COUNT; scene++) {
        ticks += SCENES[scene].count;
    }
    printf("self-test: %u ticks of %u scenes as they should be\n", (unsigned)ticks,
        (unsigned)SCENES_COUNT);
    return 0;
}
