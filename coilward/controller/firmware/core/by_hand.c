/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/by_hand.py; don't edit.
 */
#include "by_hand.h"
#include "numbers.h"
#include "phases.h"
#include "state.h"
#include "types.h"

/* Whether any output is held by hand. */
static bool held(const Requests *requests)
{
    return requests->hand_pump || requests->hand_valve || requests->hand_fans || requests->hand_dump
        || requests->hand_damper;
}

/* Whether the coil is known to be cold enough for hands: by its metal, else by its outlet. */
bool cold_coil(const Seen *seen, const Constants *constants)
{
    const double coil_c = constants->fitted.metal ? seen->metal_c : seen->outlet_c;
    return coil_c < COLD_COIL_C;
}

/* Level and current guard the pump in maintenance too. */
static bool pump_stopped(const Readings *readings, const Seen *seen, const Constants *constants)
{
    const bool empty = constants->fitted.level && !(readings->level_low_low < 0.5);
    return empty || seen->current_bad;
}

/* How long outputs have been held; at its longest at once when the pump had to stop. */
double hold_s(const Requests *requests, const Readings *readings, const Seen *seen, int64_t phase,
    int64_t fire, const Control *control, const Constants *constants)
{
    if (!held(requests)) {
        return 0.0;
    }
    const bool tended = (phase == MAINTENANCE) && (fire == NO);
    if (tended && requests->hand_pump && pump_stopped(readings, seen, constants)) {
        return HELD_S;
    }
    const double lasted_s = control->hand_s + constants->tick_s;
    return (lasted_s < HELD_S) ? lasted_s : HELD_S;
}

/* Whether a hand asks for what it may not have, or a button is stuck. */
bool refused(const Requests *requests, const Estimate *now, const Mode *mode, double hand_s)
{
    if (!held(requests)) {
        return false;
    }
    if (hand_s >= HELD_S) {
        return true;
    }
    if (now->fire == NO) {
        return mode->phase != MAINTENANCE;
    }
    const bool wet = (now->coil < AT_RISK) && !now->dry;
    const bool moves = requests->hand_valve || requests->hand_dump;
    return (requests->hand_pump && !wet) || (moves && (mode->phase == DRY));
}

/* What the phase wants, with what is held by hand. */
Commands by_hand(const Commands *base, int64_t phase, int64_t fire, double hand_s,
    const Requests *requests, const Constants *constants)
{
    if ((hand_s >= HELD_S) || ((phase == DRY) || (phase == BOOT))) {
        return *base;
    }
    double fans;
    if ((phase == MAINTENANCE) && (fire == NO)) {
        const double stroke = requests->hand_valve ? constants->valve.stop : 1.0;
        fans = requests->hand_fans ? 1.0 : 0.0;
        return (Commands){
            .pump = requests->hand_pump,
            .valve = stroke,
            .fans = fans,
            .damper_open = requests->hand_damper,
            .dump_open = requests->hand_dump,
            .horn = 0,
            .may_light = false,
        };
    }
    if (fire == NO) {
        return *base;
    }
    const double valve = requests->hand_valve ? 1.0 : base->valve;
    fans = requests->hand_fans ? 1.0 : base->fans;
    const bool damper_open = base->damper_open && !requests->hand_damper;
    const bool dump_open = base->dump_open || requests->hand_dump;
    return (Commands){
        .pump = base->pump,
        .valve = valve,
        .fans = fans,
        .damper_open = damper_open,
        .dump_open = dump_open,
        .horn = base->horn,
        .may_light = base->may_light,
    };
}
