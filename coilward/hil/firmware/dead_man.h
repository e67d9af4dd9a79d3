#ifndef DEAD_MAN_H
#define DEAD_MAN_H

#include "types.h"

/* Counts the silences of one session. */
typedef struct {
    int64_t count;
    uint32_t heard_ms;
    bool waits; /* something was heard, and no silence has counted since */
} DeadMan;

/* A new session: it counts from none, and nothing is to be missed. */
void dead_man_begin(DeadMan *man);
/* A line of the plant has come. */
void dead_man_heard(DeadMan *man, uint32_t now_ms);
/* Whether the silence has just become too long: true once in each. */
bool dead_man_acts(DeadMan *man, uint32_t now_ms);

/* The outputs of a board that is alone, from those that it had: damper shut, fans full, horn on, no
   permission; the pump as it is. While it runs valve and dump open; with the pump off both stay,
   because cold water let into a dry, hot coil flashes to steam. */
Commands safe_commands(const Commands *last);

#endif
