/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/state.py; don't edit.
 */
#include "state.h"
#include "numbers.h"
#include "debounce.h"
#include "interlocks.h"
#include "phases.h"
#include "plausibility.h"

/* Eyes that have seen nothing yet. */
static void fresh_watch(Watch *out)
{
    const double nan = NOT_KNOWN;
    out->outlet_a_c = nan;
    out->outlet_a_odd_s = 0.0;
    out->outlet_b_c = nan;
    out->outlet_b_odd_s = 0.0;
    out->slow_a_c = nan;
    out->slow_b_c = nan;
    out->slow_metal_c = nan;
    out->slow_lpm = nan;
    out->radiator_was_c = nan;
    out->heat_now_w = 0.0;
    out->heat_before_w = 0.0;
    out->heat_earlier_w = 0.0;
    out->heat_window_s = 0.0;
    out->heating_s = 0.0;
    out->idle_s = 0.0;
    out->open_s = 0.0;
    out->short_s = 0.0;
    out->under_s = 0.0;
    out->weak_s = 0.0;
    out->pump_on_s = 0.0;
    out->fans_on_s = 0.0;
    out->cooled_s = 0.0;
    out->warm_line_s = 0.0;
    out->clean_s = 0.0;
    out->held = 0U;
    out->mute_s = 0.0;
    out->reset_s = 0.0;
    out->silence_s = 0.0;
    out->second_s = 0.0;
}

/* Outputs as they are found, valve open. */
static void fresh_control(bool pump, bool dump_open, Control *out)
{
    out->target_lpm = 0.0;
    out->error_k = 0.0;
    out->moved_s = 0.0;
    out->valve = 1.0;
    out->closing = false;
    out->stroke_was = 1.0;
    out->flow_was_lpm = 0.0;
    out->pump = pump;
    out->fans = 0.0;
    out->damper_open = false;
    out->dump_open = dump_open;
    out->tries = 0.0;
    out->retry_off_s = 0.0;
    out->retry_gap_s = 0.0;
    out->guard_s = 0.0;
    out->passed = 0U;
    out->dump_open_s = 0.0;
    out->hand_s = 0.0;
}

/* Clocks of a loop to which nothing has happened yet, or in which a fire burns soundly. */
static void first_ages(const Constants *constants, bool fired, Ages *out)
{
    const double window_s = (constants->water.window_cap_s < 10.0) ? constants->water.window_cap_s
        : 10.0;
    const double proof_s = fired ? 10.0 : 0.0;
    const double heat_s = fired ? 0.0 : LONG_AGO_S;
    out->time_s = 0.0;
    out->phase_s = 0.0;
    out->still_s = 0.0;
    out->window_s = window_s;
    out->proof_s = proof_s;
    out->dump_1_s = LONG_AGO_S;
    out->dump_2_s = LONG_AGO_S;
    out->dump_3_s = LONG_AGO_S;
    out->dump_4_s = LONG_AGO_S;
    out->flow_return_s = LONG_AGO_S;
    out->heat_s = heat_s;
    out->cold_s = 0.0;
    out->reboot_1_s = LONG_AGO_S;
    out->reboot_2_s = LONG_AGO_S;
    out->reboot_3_s = LONG_AGO_S;
    out->dry_reset_1_s = LONG_AGO_S;
    out->dry_reset_2_s = LONG_AGO_S;
}

/* Clocks as a board finds them that restarts. */
static void ages_after_reboot(const Ages *ages, Ages *out)
{
    out->time_s = ages->time_s;
    out->phase_s = 0.0;
    out->still_s = ages->still_s;
    out->window_s = ages->window_s;
    out->proof_s = 0.0;
    out->dump_1_s = ages->dump_1_s;
    out->dump_2_s = ages->dump_2_s;
    out->dump_3_s = ages->dump_3_s;
    out->dump_4_s = ages->dump_4_s;
    out->flow_return_s = ages->flow_return_s;
    out->heat_s = ages->heat_s;
    out->cold_s = 0.0;
    out->reboot_1_s = 0.0;
    out->reboot_2_s = ages->reboot_1_s;
    out->reboot_3_s = ages->reboot_2_s;
    out->dry_reset_1_s = ages->dry_reset_1_s;
    out->dry_reset_2_s = ages->dry_reset_2_s;
}

/* The state of a new board, or one set up in a given phase with a given fire. */
void first_state(const Constants *constants, int64_t phase, int64_t fire, State *out)
{
    const bool fired = fire != NO;
    out->mode.phase = phase;
    out->mode.came_from = phase;
    out->mode.fire = fire;
    out->mode.coil = fired ? WET : COLD;
    out->mode.dry = false;
    out->mode.latched = 0U;
    out->mode.first_out = -1;
    out->mode.permitted = false;
    out->mode.meter_dead = false;
    first_ages(constants, fired, &out->ages);
    fresh_watch(&out->watch);
    fresh_doubt(&out->doubt);
    fresh_control(fired, false, &out->control);
    out->counters = QUIET;
    out->raised = 0U;
    out->seen = 0U;
}

/*
 * What a board that restarts finds in its memory: latches, fire, coil and their clocks.
 *
 * The boot phase remembers where it was; filters, timers and the valve loop start afresh.
 */
void after_reboot(const State *state, State *out)
{
    const Mode *mode = &state->mode;
    const int64_t found = (mode->phase == BOOT) ? mode->came_from : mode->phase;
    out->mode.phase = BOOT;
    out->mode.came_from = found;
    out->mode.fire = mode->fire;
    out->mode.coil = mode->coil;
    out->mode.dry = mode->dry;
    out->mode.latched = mode->latched;
    out->mode.first_out = mode->first_out;
    out->mode.permitted = false;
    out->mode.meter_dead = mode->meter_dead;
    ages_after_reboot(&state->ages, &out->ages);
    fresh_watch(&out->watch);
    fresh_doubt(&out->doubt);
    fresh_control(state->control.pump, true, &out->control);
    out->counters = QUIET;
    out->raised = 0U;
    out->seen = 0U;
}

/* Whether no clock, timer or output that must be a number has been lost (NaN, infinite). */
static bool clocks_sound(const Ages *ages, const Watch *watch, const Doubt *doubt,
    const Control *control)
{
    const double phase_s = ages->phase_s;
    const double still_s = ages->still_s;
    const double window_s = ages->window_s;
    const double proof_s = ages->proof_s;
    const double dump_1_s = ages->dump_1_s;
    const double dump_2_s = ages->dump_2_s;
    const double dump_3_s = ages->dump_3_s;
    const double dump_4_s = ages->dump_4_s;
    const double flow_return_s = ages->flow_return_s;
    const double heat_s = ages->heat_s;
    const double cold_s = ages->cold_s;
    const double reboot_1_s = ages->reboot_1_s;
    const double reboot_2_s = ages->reboot_2_s;
    const double reboot_3_s = ages->reboot_3_s;
    const double dry_reset_1_s = ages->dry_reset_1_s;
    const double dry_reset_2_s = ages->dry_reset_2_s;
    const double outlet_a_odd_s = watch->outlet_a_odd_s;
    const double outlet_b_odd_s = watch->outlet_b_odd_s;
    const double heat_now_w = watch->heat_now_w;
    const double heat_before_w = watch->heat_before_w;
    const double heat_earlier_w = watch->heat_earlier_w;
    const double heat_window_s = watch->heat_window_s;
    const double heating_s = watch->heating_s;
    const double idle_s = watch->idle_s;
    const double open_s = watch->open_s;
    const double short_s = watch->short_s;
    const double under_s = watch->under_s;
    const double weak_s = watch->weak_s;
    const double pump_on_s = watch->pump_on_s;
    const double fans_on_s = watch->fans_on_s;
    const double cooled_s = watch->cooled_s;
    const double warm_line_s = watch->warm_line_s;
    const double clean_s = watch->clean_s;
    const double mute_s = watch->mute_s;
    const double reset_s = watch->reset_s;
    const double silence_s = watch->silence_s;
    const double second_s = watch->second_s;
    const double same_a_s = doubt->same_a_s;
    const double same_b_s = doubt->same_b_s;
    const double same_tank_s = doubt->same_tank_s;
    const double residual_s = doubt->residual_s;
    const double watched_s = doubt->watched_s;
    const double foul_s = doubt->foul_s;
    const double target_lpm = control->target_lpm;
    const double error_k = control->error_k;
    const double moved_s = control->moved_s;
    const double valve = control->valve;
    const double stroke_was = control->stroke_was;
    const double flow_was_lpm = control->flow_was_lpm;
    const double fans = control->fans;
    const double tries = control->tries;
    const double retry_off_s = control->retry_off_s;
    const double retry_gap_s = control->retry_gap_s;
    const double guard_s = control->guard_s;
    const double dump_open_s = control->dump_open_s;
    const double hand_s = control->hand_s;
    return is_finite(phase_s) && is_finite(still_s) && is_finite(window_s) && is_finite(proof_s)
        && is_finite(dump_1_s) && is_finite(dump_2_s) && is_finite(dump_3_s) && is_finite(dump_4_s)
        && is_finite(flow_return_s) && is_finite(heat_s) && is_finite(cold_s)
        && is_finite(outlet_a_odd_s) && is_finite(outlet_b_odd_s) && is_finite(heat_now_w)
        && is_finite(heat_before_w) && is_finite(heat_earlier_w) && is_finite(heat_window_s)
        && is_finite(heating_s) && is_finite(idle_s) && is_finite(open_s) && is_finite(short_s)
        && is_finite(under_s) && is_finite(weak_s) && is_finite(pump_on_s) && is_finite(fans_on_s)
        && is_finite(cooled_s) && is_finite(warm_line_s) && is_finite(clean_s) && is_finite(mute_s)
        && is_finite(reset_s) && is_finite(silence_s) && is_finite(target_lpm) && is_finite(error_k)
        && is_finite(moved_s) && is_finite(valve) && is_finite(stroke_was)
        && is_finite(flow_was_lpm) && is_finite(fans) && is_finite(tries) && is_finite(retry_off_s)
        && is_finite(retry_gap_s) && is_finite(guard_s) && is_finite(reboot_1_s)
        && is_finite(reboot_2_s) && is_finite(reboot_3_s) && is_finite(dry_reset_1_s)
        && is_finite(dry_reset_2_s) && is_finite(dump_open_s) && is_finite(hand_s)
        && is_finite(second_s) && is_finite(same_a_s) && is_finite(same_b_s)
        && is_finite(same_tank_s) && is_finite(residual_s) && is_finite(watched_s)
        && is_finite(foul_s);
}

/* Whether a state can be one. */
bool is_sound(const State *state)
{
    const Mode *mode = &state->mode;
    return ((0 <= mode->phase) && (mode->phase <= LAST_PHASE)) && ((0 <= mode->came_from)
        && (mode->came_from <= LAST_PHASE)) && ((0 <= mode->fire) && (mode->fire <= UNKNOWN))
        && ((0 <= mode->coil) && (mode->coil <= MAYBE_DRY)) && ((-1 <= mode->first_out)
        && (mode->first_out <= LAST_ROW)) && (mode->latched <= EVERY_ROW)
        && (state->doubt.suspects <= EVERY_SUSPICION) && clocks_sound(&state->ages, &state->watch,
        &state->doubt, &state->control);
}

/*
 * What is made of a damaged memory: a restart that believes in a fire.
 *
 * Latches that can still be read are kept. What the coil holds is found out as after any
 * restart: by the pump's contactor, by pulses, and else by the dry lock-out.
 */
void restarted(const State *state, const Constants *constants, State *out)
{
    const Mode *mode = &state->mode;
    out->mode.phase = BOOT;
    out->mode.came_from = BOOT;
    out->mode.fire = UNKNOWN;
    out->mode.coil = AT_RISK;
    out->mode.dry = mode->dry;
    out->mode.latched = mode->latched & EVERY_ROW;
    out->mode.first_out = -1;
    out->mode.permitted = false;
    out->mode.meter_dead = mode->meter_dead;
    Ages given;
    first_ages(constants, true, &given);
    ages_after_reboot(&given, &out->ages);
    fresh_watch(&out->watch);
    fresh_doubt(&out->doubt);
    fresh_control(true, true, &out->control);
    out->counters = QUIET;
    out->raised = 0U;
    out->seen = 0U;
}
