/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/decide.py; don't edit.
 */
#include "decide.h"
#include "numbers.h"
#include "acting.h"
#include "by_hand.h"
#include "causing.h"
#include "debounce.h"
#include "doubting.h"
#include "estimating.h"
#include "facts.h"
#include "interlocks.h"
#include "latching.h"
#include "phases.h"
#include "prelight.h"
#include "reckoned.h"
#include "remembering.h"
#include "sensing.h"
#include "state.h"
#include "valve.h"

/* The same from a sound state; the module's own words give the order of things. */
void decided(const Readings *readings, const Requests *requests, const State *state,
    const Constants *constants, Decision *out)
{
    const Mode *mode = &state->mode;
    const Ages *ages = &state->ages;
    const Watch *watch = &state->watch;
    const Control *control = &state->control;
    const Doubt *doubt = &state->doubt;
    const double tick_s = constants->tick_s;
    Seen seen;
    sense(readings, doubt->suspects, mode, ages, watch, control, constants, &seen);
    Estimate now;
    estimate(readings, requests, &seen, mode, ages, watch, constants, &now);
    const double hand_s = hold_s(requests, readings, &seen, mode->phase, now.fire, control,
        constants);

    const uint64_t cause = causes(readings, requests, &seen, &now, mode, ages, watch,
        doubt->suspects, control, hand_s, state->raised, state->seen, constants);
    count(cause, &state->counters, &out->state.counters);
    const Counters *counters = &out->state.counters;
    const uint64_t debounced = reached(cause, counters, &constants->thresholds);
    const double clean_s = ((cause & RETURNING) != 0U) ? 0.0 : (watch->clean_s + tick_s);
    uint64_t held = (watch->held | debounced) & RETURNING;
    if ((clean_s >= RETURNS_S) || (now.fire == NO)) {
        held = held & debounced;
    }
    const uint64_t raised = debounced | held;
    const Latched kept = latches(raised, cause, readings, requests, mode, ages, watch, &now, &seen,
        constants);
    uint64_t active = raised;
    if (now.fire != NO) {
        active = raised | kept.latched;
    }

    const uint64_t facts = facts_of(active, raised, readings, requests, &seen, &now, &kept, mode,
        ages, watch, constants);
    const int64_t phase = next_phase(mode->phase, facts);
    const bool entering = phase != mode->phase;
    const double phase_s = entering ? 0.0 : (ages->phase_s + tick_s);
    const bool dry = kept.dry || ((phase == DRY) && (now.fire != NO));
    int64_t coil = now.coil;
    if (dry) {
        coil = MAYBE_DRY;
    } else if (kept.dry_reset) {
        coil = COLD;
    } else {
        /* All stays as it is. */
    }

    uint64_t passed = 0U;
    if ((phase == COLD_START) && !entering) {
        passed = passed_checks(control->passed, phase_s, readings, &seen, &now, constants);
    }
    const bool permitted = (passed == ALL) && (kept.latched == 0U);
    double guard_s = 0.0;
    if ((phase == FREEZE) && !entering) {
        guard_s = control->guard_s + tick_s;
        if (guard_s >= constants->reckoned.guard_turn_s) {
            guard_s = 0.0;
        }
    }
    double silence_s = (watch->silence_s > 0.0) ? (watch->silence_s - tick_s) : 0.0;
    if (requests->silence) {
        silence_s = SILENCE_S;
    }
    if ((raised & ~state->raised & HORN_CONTINUOUS) != 0U) {
        silence_s = 0.0;
    }

    /*
     * One tick never judges the readings and moves the valve: the judging waits for it, but once.
     */
    double second_s = watch->second_s + tick_s;
    const bool waited = second_s >= constants->reckoned.judged_late_s;
    bool judging = second_s >= SECOND_S;
    Throttle loop = REST;
    if (phase == RUN) {
        loop = throttle(entering, waited, &seen, &now, control, constants);
        judging = judging && (waited || (loop.moved_s > 0.0));
    }
    const double stroke = output_stroke(&loop, constants);
    Retry again = NO_RETRY;
    if (phase == NO_FLOW) {
        again = retry(entering, &seen, &now, control, constants);
    }
    Commands base = wanted(phase, phase_s, stroke, guard_s, readings, &seen, &now, control,
        constants);
    base = by_hand(&base, phase, now.fire, hand_s, requests, constants);
    const bool opened_lately = control->dump_open && (control->dump_open_s < DUMP_LEAST_S);
    const bool dump_held = (now.fire != NO) && opened_lately;
    const Commands given = overruled(&base, active, phase, control);
    const Commands commands = guarded(&given, phase, now.fire, dry, again.off_s > 0.0, dump_held,
        permitted, silence_s > 0.0, constants);
    double valve = commands.valve;
    double moved_s = (valve == control->valve) ? (control->moved_s + tick_s) : 0.0;
    if ((phase == RUN) && (valve == stroke)) {
        valve = loop.valve;
        moved_s = loop.moved_s;
    }
    const bool deaf = (cause & VALVE_DEAF) != 0U;
    double stroke_was;
    double flow_was_lpm;
    answered(deaf, &seen, control, valve, moved_s, constants, &stroke_was, &flow_was_lpm);

    double ran_s = tick_s;
    if ((mode->phase == BOOT) && (ages->phase_s == 0.0) && (readings->outage_s > 0.0)) {
        ran_s = tick_s + away_s(readings);
    }
    const double reboot_1_s = ages->reboot_1_s + tick_s;
    const double reboot_2_s = ages->reboot_2_s + ran_s;
    const double reboot_3_s = ages->reboot_3_s + ran_s;
    double dry_reset_1_s = ages->dry_reset_1_s + ran_s;
    double dry_reset_2_s = ages->dry_reset_2_s + ran_s;
    if (kept.dry_reset) {
        dry_reset_2_s = dry_reset_1_s;
        dry_reset_1_s = 0.0;
    }
    const bool dumping = (phase == DUMP) && (mode->phase != DUMP);
    double dump_1_s = ages->dump_1_s + tick_s;
    double dump_2_s = ages->dump_2_s + tick_s;
    double dump_3_s = ages->dump_3_s + tick_s;
    double dump_4_s = ages->dump_4_s + tick_s;
    if (dumping) {
        dump_4_s = dump_3_s;
        dump_3_s = dump_2_s;
        dump_2_s = dump_1_s;
        dump_1_s = 0.0;
    }
    const bool returned = (mode->phase == NO_FLOW) && entering && (phase != DRY);
    const double proof_s = ((phase == NO_FLOW) && entering) ? 0.0 : now.proof_s;
    const double flow_return_s = returned ? 0.0 : (ages->flow_return_s + tick_s);
    int64_t first_out = mode->first_out;
    if ((raised | kept.latched) == 0U) {
        if ((phase != BOOT) && (phase != NO_FLOW) && (phase != DRY)) {
            first_out = -1;
        }
    } else if (first_out < 0) {
        first_out = first_of((raised != 0U) ? raised : kept.latched);
    } else {
        /* All stays as it is. */
    }
    int64_t came_from = phase;
    if ((phase == NO_FLOW) || (phase == BOOT)) {
        came_from = (entering && (mode->phase != BOOT)) ? mode->phase : mode->came_from;
    }
    const int64_t fire = now.fire;
    const uint64_t latched = kept.latched;
    const bool meter_dead = (latched & METER_DEAD) != 0U;
    if (judging) {
        doubted(readings, &seen, &now, doubt, control, watch, constants, &out->state.doubt);
        doubt = &out->state.doubt;
        second_s = waited ? tick_s : 0.0;
    }
    out->state.mode.phase = phase;
    out->state.mode.came_from = came_from;
    out->state.mode.fire = fire;
    out->state.mode.coil = coil;
    out->state.mode.dry = dry;
    out->state.mode.latched = latched;
    out->state.mode.first_out = first_out;
    out->state.mode.permitted = permitted;
    out->state.mode.meter_dead = meter_dead;
    const double time_s = readings->time_s;
    const double still_s = now.still_s;
    const double window_s = now.window_s;
    const double heat_s = now.heat_s;
    const double cold_s = now.cold_s;
    out->state.ages.time_s = time_s;
    out->state.ages.phase_s = phase_s;
    out->state.ages.still_s = still_s;
    out->state.ages.window_s = window_s;
    out->state.ages.proof_s = proof_s;
    out->state.ages.dump_1_s = dump_1_s;
    out->state.ages.dump_2_s = dump_2_s;
    out->state.ages.dump_3_s = dump_3_s;
    out->state.ages.dump_4_s = dump_4_s;
    out->state.ages.flow_return_s = flow_return_s;
    out->state.ages.heat_s = heat_s;
    out->state.ages.cold_s = cold_s;
    out->state.ages.reboot_1_s = reboot_1_s;
    out->state.ages.reboot_2_s = reboot_2_s;
    out->state.ages.reboot_3_s = reboot_3_s;
    out->state.ages.dry_reset_1_s = dry_reset_1_s;
    out->state.ages.dry_reset_2_s = dry_reset_2_s;
    remember(readings, &seen, &now, &commands, watch, returned, clean_s, held, kept.reset_s,
        silence_s, second_s, constants, &out->state.watch);
    const double target_lpm = loop.target_lpm;
    const double error_k = loop.error_k;
    const bool closing = loop.closing;
    const bool pump = commands.pump;
    const double fans = commands.fans;
    const bool damper_open = commands.damper_open;
    const bool dump_open = commands.dump_open;
    const double dump_open_s = (dump_open && control->dump_open) ? (control->dump_open_s + tick_s)
        : 0.0;
    const double tries = again.tries;
    const double retry_off_s = again.off_s;
    const double retry_gap_s = again.gap_s;
    out->state.control.target_lpm = target_lpm;
    out->state.control.error_k = error_k;
    out->state.control.moved_s = moved_s;
    out->state.control.valve = valve;
    out->state.control.closing = closing;
    out->state.control.stroke_was = stroke_was;
    out->state.control.flow_was_lpm = flow_was_lpm;
    out->state.control.pump = pump;
    out->state.control.fans = fans;
    out->state.control.damper_open = damper_open;
    out->state.control.dump_open = dump_open;
    out->state.control.tries = tries;
    out->state.control.retry_off_s = retry_off_s;
    out->state.control.retry_gap_s = retry_gap_s;
    out->state.control.guard_s = guard_s;
    out->state.control.passed = passed;
    out->state.control.dump_open_s = dump_open_s;
    out->state.control.hand_s = hand_s;
    out->state.doubt = *doubt;
    out->state.raised = raised;
    out->state.seen = cause;
    out->commands = commands;
}
