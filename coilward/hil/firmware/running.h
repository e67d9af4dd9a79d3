#ifndef RUNNING_H
#define RUNNING_H

#include "logic_side.h"

/* Off the bench: the board reads its own pins, decides once a tick, and drives its outputs. */
typedef struct {
    uint32_t last_ms;
    double time_s; /* from the start, by the board's clock */
    double outage_s;
} Running;

/* Goes on from the memory that was kept; without one it believes in a fire. */
void running_begin(Running *running, LogicSide *side, uint32_t now_ms);

/* Call it often: decides when a tick is due. */
void running_watch(Running *running, LogicSide *side, uint32_t now_ms);

#endif
