/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/acting.py; don't edit.
 */
#include "acting.h"
#include "numbers.h"
#include "facts.h"
#include "interlocks.h"
#include "phases.h"
#include "prelight.h"
#include "reckoned.h"
#include "state.h"
#include "types.h"

const Retry NO_RETRY = {.tries = 0.0, .off_s = 0.0, .gap_s = 0.0};

/*
 * One tick of the retries in the no-flow fault: only inside the refill window, and not with an
 * outlet that is known to be hot, where a second without the pump is one too many.
 */
Retry retry(bool entering, const Seen *seen, const Estimate *now, const Control *control,
    const Constants *constants)
{
    double tries = 0.0;
    double off_s = 0.0;
    double gap_s = 0.0;
    if (!entering) {
        tries = control->tries;
        off_s = control->retry_off_s - constants->tick_s;
        gap_s = control->retry_gap_s + constants->tick_s;
    }
    const bool hot = seen->outlet_c >= constants->limits.outlet_dump_c;
    const bool inside = (now->still_s + RETRY_EVERY_S) <= now->window_s;
    const bool may = inside && (tries < constants->water.retries) && !hot;
    const bool due = (tries == 0.0) || (gap_s >= RETRY_EVERY_S);
    if (may && due && (off_s <= 0.0) && seen->flow_absent && seen->current_bad) {
        return (Retry){.tries = tries + 1.0, .off_s = RETRY_OFF_S, .gap_s = 0.0};
    }
    return (Retry){.tries = tries, .off_s = (off_s > 0.0) ? off_s : 0.0, .gap_s = gap_s};
}

/* What the check before a fire has its outputs do, each in its turn. */
static Commands rehearsed(double phase_s, const Constants *constants)
{
    double stroke = 1.0;
    double fans = 0.0;
    int64_t horn = 0;
    bool damper_open = false;
    bool dump_open = false;
    if (phase_s >= SHUT_S) {
        dump_open = phase_s < DUMP_S;
        if (!dump_open && (phase_s < HORN_S)) {
            horn = 1;
        }
    } else if (phase_s >= FANS_S) {
        damper_open = phase_s < DAMPER_S;
    } else if (phase_s >= STOP_S) {
        fans = 1.0;
    } else if ((phase_s >= OPEN_S) && !constants->valve.always_open) {
        stroke = constants->valve.stop;
    } else {
        /* All stays as it is. */
    }
    const bool pump = phase_s > REST_S;
    return (Commands){
        .pump = pump,
        .valve = stroke,
        .fans = fans,
        .damper_open = damper_open,
        .dump_open = dump_open,
        .horn = horn,
        .may_light = false,
    };
}

/* What the phase by itself would do. */
Commands wanted(int64_t phase, double phase_s, double stroke, double guard_s,
    const Readings *readings, const Seen *seen, const Estimate *now, const Control *control,
    const Constants *constants)
{
    const double inlet_c = constants->fitted.radiator_inlet ? readings->radiator_inlet_c
        : seen->outlet_c;
    const double starts = (control->fans > 0.0) ? FAN_STOP_C : FAN_START_C;
    double fans = !(inlet_c < starts) ? 1.0 : 0.0;
    if (phase == RUN) {
        if ((readings->room_c > constants->limits.not_over_c) && (inlet_c < FAN_FORCED_C)) {
            const double predicted_c = seen->tank_c + (now->heat_w / constants->reckoned.open_w_k);
            if (predicted_c < constants->reckoned.outlet_rests_c) {
                fans = 0.0;
            }
        }
        return (Commands){
            .pump = true,
            .valve = stroke,
            .fans = fans,
            .damper_open = true,
            .dump_open = false,
            .horn = 0,
            .may_light = false,
        };
    }
    if (phase == WARM_UP) {
        return (Commands){
            .pump = true,
            .valve = 1.0,
            .fans = fans,
            .damper_open = true,
            .dump_open = false,
            .horn = 0,
            .may_light = false,
        };
    }
    if (phase == DUMP) {
        return (Commands){
            .pump = true,
            .valve = 1.0,
            .fans = 1.0,
            .damper_open = false,
            .dump_open = true,
            .horn = 2,
            .may_light = false,
        };
    }
    if (phase == NO_FLOW) {
        return (Commands){
            .pump = true,
            .valve = 1.0,
            .fans = 1.0,
            .damper_open = false,
            .dump_open = true,
            .horn = 3,
            .may_light = false,
        };
    }
    if (phase == DRY) {
        return (Commands){
            .pump = false,
            .valve = control->valve,
            .fans = 1.0,
            .damper_open = false,
            .dump_open = control->dump_open,
            .horn = 3,
            .may_light = false,
        };
    }
    if (phase == SHUTDOWN) {
        const bool hot = !(seen->outlet_c < constants->limits.outlet_warn_c);
        return (Commands){
            .pump = true,
            .valve = 1.0,
            .fans = fans,
            .damper_open = false,
            .dump_open = hot,
            .horn = 0,
            .may_light = false,
        };
    }
    if (phase == DEGRADED) {
        const bool blind = !is_known(seen->outlet_c) || !is_known(seen->tank_c);
        return (Commands){
            .pump = true,
            .valve = 1.0,
            .fans = 1.0,
            .damper_open = false,
            .dump_open = blind,
            .horn = 1,
            .may_light = false,
        };
    }
    if (phase == FREEZE) {
        const bool cold = !(readings->line_min_c >= LINE_COLD_C);
        return (Commands){
            .pump = (guard_s < GUARD_RUN_S) || cold,
            .valve = 1.0,
            .fans = 0.0,
            .damper_open = false,
            .dump_open = false,
            .horn = 0,
            .may_light = false,
        };
    }
    if (phase == COLD_START) {
        return rehearsed(phase_s, constants);
    }
    if (phase == BOOT) {
        const bool found_on = !is_known(readings->pump_contact) ? control->pump
            : (readings->pump_contact >= 0.5);
        const bool short_ = (now->fire != NO) && (now->still_s <= now->window_s);
        return (Commands){
            .pump = found_on || short_,
            .valve = control->valve,
            .fans = (now->fire != NO) ? 1.0 : 0.0,
            .damper_open = false,
            .dump_open = now->fire != NO,
            .horn = 1,
            .may_light = false,
        };
    }
    return (Commands){
        .pump = false,
        .valve = 1.0,
        .fans = 0.0,
        .damper_open = false,
        .dump_open = false,
        .horn = 0,
        .may_light = false,
    };
}

/*
 * The interlocks' say, lowest tier first, so that a higher one has the last word.
 *
 * In maintenance no row starts the pump: somebody may have the loop open.
 */
Commands overruled(const Commands *base, uint64_t active, int64_t phase, const Control *control)
{
    if ((active == 0U) && (phase != DRY)) {
        return *base;
    }
    bool pump = base->pump;
    double valve = base->valve;
    double fans = base->fans;
    bool damper_open = base->damper_open;
    bool dump_open = base->dump_open;
    int64_t horn = base->horn;
    if ((active & FANS_OFF) != 0U) {
        fans = 0.0;
    }
    if (((active & FANS_HALF) != 0U) && (fans < 0.5)) {
        fans = 0.5;
    }
    if ((active & FANS_FULL) != 0U) {
        fans = 1.0;
    }
    if ((active & VALVE_OPEN) != 0U) {
        valve = 1.0;
    }
    if ((active & DAMPER_SHUT) != 0U) {
        damper_open = false;
    }
    if ((active & DUMP_OPEN) != 0U) {
        dump_open = true;
    }
    if (((active & PUMP_ON) != 0U) && (phase != MAINTENANCE)) {
        pump = true;
    }
    if ((active & PUMP_OFF) != 0U) {
        pump = false;
    }
    if (((active & VALVE_HOLD) != 0U) || (phase == DRY)) {
        valve = control->valve;
    }
    if (((active & DUMP_HOLD) != 0U) || (phase == DRY)) {
        dump_open = control->dump_open;
    }
    if ((active & HORN_CONTINUOUS) != 0U) {
        horn = 3;
    } else if (((active & HORN_INTERMITTENT) != 0U) && (horn < 2)) {
        horn = 2;
    } else if (((active & HORN_BEEP) != 0U) && (horn < 1)) {
        horn = 1;
    } else {
        /* All stays as it is. */
    }
    return (Commands){
        .pump = pump,
        .valve = valve,
        .fans = fans,
        .damper_open = damper_open,
        .dump_open = dump_open,
        .horn = horn,
        .may_light = base->may_light,
    };
}

/* The last word: water moves while a fire may be in, unless the coil may be dry. */
Commands guarded(const Commands *said, int64_t phase, int64_t fire, bool dry, bool retrying,
    bool dump_held, bool may_light, bool silent, const Constants *constants)
{
    bool pump = said->pump;
    double valve = said->valve;
    if (dry) {
        pump = false;
    } else if ((fire != NO) && (phase != BOOT)) {
        pump = !retrying;
    } else {
        /* All stays as it is. */
    }
    if (!(valve >= constants->valve.stop)) {
        valve = constants->valve.stop;
    }
    if (!(valve <= 1.0)) {
        valve = 1.0;
    }
    const bool burning = (phase == WARM_UP) || (phase == RUN) || (phase == COLD_START) || (phase ==
        MAINTENANCE);
    return (Commands){
        .pump = pump,
        .valve = valve,
        .fans = said->fans,
        .damper_open = said->damper_open && burning,
        .dump_open = said->dump_open || dump_held,
        .horn = silent ? 0 : said->horn,
        .may_light = may_light,
    };
}
