#include "selftest.h"

#include "coil.h"
#include "loop_constants.h"
#include "memory.h"

/* The first tick of a scene that differs; its count where none does. */
static size_t played(const Scene *scene)
{
    State state;
    state_of(scene->floats, scene->wholes, &state);
    for (size_t tick = 0; tick < scene->count; tick++) {
        const Step *step = &scene->steps[tick];
        Readings readings;
        Commands commands;
        readings_of(step->readings, &readings);
        Requests requests = requests_of(step->requests);
        coil_decide(&readings, &requests, &state, &commands, &LOOP_CONSTANTS);
        if (memory_digest(&state, &commands) != step->digest) {
            return tick;
        }
    }
    return scene->count;
}

Differs selftest(void)
{
    Differs differs = {0, 0};
    while (differs.scene < SCENES_COUNT) {
        differs.tick = played(&SCENES[differs.scene]);
        if (differs.tick < SCENES[differs.scene].count) {
            return differs;
        }
        differs.scene++;
    }
    return differs;
}
