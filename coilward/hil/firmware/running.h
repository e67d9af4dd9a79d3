#ifndef RUNNING_H
#define RUNNING_H

#include "checks.h"
#include "clocks.h"
#include "logic_side.h"

/* What may change in a tick alone: between two it is held against its seal. */
typedef struct {
    double time_s; /* from the start, by the board's clock */
    double outage_s;
    uint32_t tick_ms;
    uint32_t last_ms;
    uint32_t digest; /* of state and outputs as the last decision left them */
    uint32_t late;   /* rises with a tick that was missed, and falls with every other */
    bool loop_sound; /* all numbers of the loop have been found right */
    bool decided;    /* the outputs are those of a decision since the start */
} Progress;

/* Off the bench: the board reads its own pins, decides once a tick, and drives its outputs. */
typedef struct {
    Progress progress;
    uint32_t seal; /* of `progress`, and of what the logic's side runs on */
    uint32_t flow; /* the steps of this tick so far, a hexadecimal digit each */
    Clocks clocks;
    uint32_t quarter; /* of the loop's numbers that was looked at last */
    uint32_t ram;     /* word that was tried last */
    State next;       /* as it is being decided */
    Commands outputs; /* as they are being decided */
} Running;

/* Goes on from the memory that was kept; without one it believes in a fire. */
void running_begin(Running *running, LogicSide *side, double outage_s);

/* Call it often: decides when a tick is due. True when a tick is complete, and every check of it in
   order: only then may the watchdog be kicked. A check that fails puts the outputs to their safe side
   and waits for the watchdog. */
bool running_watch(Running *running, LogicSide *side);

#endif
