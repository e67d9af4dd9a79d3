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
static Watch fresh_watch(void)
{
    const double nan = NOT_KNOWN;
    return (Watch){
        .outlet_a_c = nan,
        .outlet_a_odd_s = 0.0,
        .outlet_b_c = nan,
        .outlet_b_odd_s = 0.0,
        .slow_a_c = nan,
        .slow_b_c = nan,
        .slow_metal_c = nan,
        .slow_lpm = nan,
        .radiator_was_c = nan,
        .heat_now_w = 0.0,
        .heat_before_w = 0.0,
        .heat_earlier_w = 0.0,
        .heat_window_s = 0.0,
        .heating_s = 0.0,
        .idle_s = 0.0,
        .open_s = 0.0,
        .short_s = 0.0,
        .under_s = 0.0,
        .weak_s = 0.0,
        .pump_on_s = 0.0,
        .fans_on_s = 0.0,
        .cooled_s = 0.0,
        .warm_line_s = 0.0,
        .clean_s = 0.0,
        .held = 0U,
        .mute_s = 0.0,
        .reset_s = 0.0,
        .silence_s = 0.0,
        .second_s = 0.0,
    };
}

/* Outputs as they are found, valve open. */
static Control fresh_control(bool pump, bool dump_open)
{
    return (Control){
        .target_lpm = 0.0,
        .error_k = 0.0,
        .moved_s = 0.0,
        .valve = 1.0,
        .closing = false,
        .stroke_was = 1.0,
        .flow_was_lpm = 0.0,
        .pump = pump,
        .fans = 0.0,
        .damper_open = false,
        .dump_open = dump_open,
        .tries = 0.0,
        .retry_off_s = 0.0,
        .retry_gap_s = 0.0,
        .guard_s = 0.0,
        .passed = 0U,
        .dump_open_s = 0.0,
        .hand_s = 0.0,
    };
}

/* The state of a new board, or one set up in a given phase with a given fire. */
State first_state(const Constants *constants, int64_t phase, int64_t fire)
{
    const bool fired = fire != NO;
    const Mode mode = {
        .phase = phase,
        .came_from = phase,
        .fire = fire,
        .coil = fired ? WET : COLD,
        .dry = false,
        .latched = 0U,
        .first_out = -1,
        .permitted = false,
        .meter_dead = false,
    };
    const double window_s = (constants->water.window_cap_s < 10.0) ? constants->water.window_cap_s
        : 10.0;
    const double proof_s = fired ? 10.0 : 0.0;
    const double heat_s = fired ? 0.0 : LONG_AGO_S;
    const Ages ages = {
        .time_s = 0.0,
        .phase_s = 0.0,
        .still_s = 0.0,
        .window_s = window_s,
        .proof_s = proof_s,
        .dump_1_s = LONG_AGO_S,
        .dump_2_s = LONG_AGO_S,
        .dump_3_s = LONG_AGO_S,
        .dump_4_s = LONG_AGO_S,
        .flow_return_s = LONG_AGO_S,
        .heat_s = heat_s,
        .cold_s = 0.0,
        .reboot_1_s = LONG_AGO_S,
        .reboot_2_s = LONG_AGO_S,
        .reboot_3_s = LONG_AGO_S,
        .dry_reset_1_s = LONG_AGO_S,
        .dry_reset_2_s = LONG_AGO_S,
    };
    return (State){
        .mode = mode,
        .ages = ages,
        .watch = fresh_watch(),
        .doubt = fresh_doubt(),
        .control = fresh_control(fired, false),
        .counters = QUIET,
        .raised = 0U,
        .seen = 0U,
    };
}

/*
 * What a board that restarts finds in its memory: latches, fire, coil and their clocks.
 *
 * The boot phase remembers where it was; filters, timers and the valve loop start afresh.
 */
State after_reboot(const State *state)
{
    const Mode *mode = &state->mode;
    const int64_t found = (mode->phase == BOOT) ? mode->came_from : mode->phase;
    return (State){
        .mode = {
            .phase = BOOT,
            .came_from = found,
            .fire = mode->fire,
            .coil = mode->coil,
            .dry = mode->dry,
            .latched = mode->latched,
            .first_out = mode->first_out,
            .permitted = false,
            .meter_dead = mode->meter_dead,
        },
        .ages = {
            .time_s = state->ages.time_s,
            .phase_s = 0.0,
            .still_s = state->ages.still_s,
            .window_s = state->ages.window_s,
            .proof_s = 0.0,
            .dump_1_s = state->ages.dump_1_s,
            .dump_2_s = state->ages.dump_2_s,
            .dump_3_s = state->ages.dump_3_s,
            .dump_4_s = state->ages.dump_4_s,
            .flow_return_s = state->ages.flow_return_s,
            .heat_s = state->ages.heat_s,
            .cold_s = 0.0,
            .reboot_1_s = 0.0,
            .reboot_2_s = state->ages.reboot_1_s,
            .reboot_3_s = state->ages.reboot_2_s,
            .dry_reset_1_s = state->ages.dry_reset_1_s,
            .dry_reset_2_s = state->ages.dry_reset_2_s,
        },
        .watch = fresh_watch(),
        .doubt = fresh_doubt(),
        .control = fresh_control(state->control.pump, true),
        .counters = QUIET,
        .raised = 0U,
        .seen = 0U,
    };
}

/* Whether no clock, timer or output that must be a number has been lost (NaN, infinite). */
static bool clocks_sound(const Ages *ages, const Watch *watch, const Doubt *doubt, const Control
    *control)
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
    const double total = phase_s + still_s + window_s + proof_s + dump_1_s + dump_2_s + dump_3_s
        + (dump_4_s + flow_return_s + heat_s + cold_s + outlet_a_odd_s + outlet_b_odd_s)
        + (heat_now_w + heat_before_w + heat_earlier_w + heat_window_s + heating_s + idle_s)
        + (open_s + short_s + under_s + weak_s + pump_on_s + fans_on_s + cooled_s) + (warm_line_s
        + clean_s + mute_s + reset_s + silence_s + target_lpm + error_k) + (moved_s + valve
        + stroke_was + flow_was_lpm + fans + tries) + (retry_off_s + retry_gap_s + guard_s
        + reboot_1_s + reboot_2_s + reboot_3_s) + (dry_reset_1_s + dry_reset_2_s + dump_open_s
        + hand_s + second_s + same_a_s) + (same_b_s + same_tank_s + residual_s + watched_s
        + foul_s);
    return (total - total) == 0.0;
}

/*
 * The state itself, or, where its memory is damaged, a restart that believes in a fire.
 *
 * Latches that can still be read are kept. What the coil holds is found out as after any
 * restart: by the pump's contactor, by pulses, and else by the dry lock-out.
 */
State sound_state(const State *state, const Constants *constants)
{
    const Mode *mode = &state->mode;
    if (((0 <= mode->phase) && (mode->phase <= LAST_PHASE)) && ((0 <= mode->came_from)
        && (mode->came_from <= LAST_PHASE)) && ((0 <= mode->fire) && (mode->fire <= UNKNOWN))
        && ((0 <= mode->coil) && (mode->coil <= MAYBE_DRY)) && ((-1 <= mode->first_out)
        && (mode->first_out <= LAST_ROW)) && (((mode->latched >> 63) == 0U) && (mode->latched <=
        EVERY_ROW)) && (((state->doubt.suspects >> 63) == 0U) && (state->doubt.suspects <=
        EVERY_SUSPICION)) && clocks_sound(&state->ages, &state->watch, &state->doubt,
        &state->control)) {
        return *state;
    }
    const State given = first_state(constants, BOOT, UNKNOWN);
    const State fresh = after_reboot(&given);
    return (State){
        .mode = {
            .phase = BOOT,
            .came_from = BOOT,
            .fire = UNKNOWN,
            .coil = AT_RISK,
            .dry = mode->dry,
            .latched = mode->latched & EVERY_ROW,
            .first_out = -1,
            .permitted = false,
            .meter_dead = mode->meter_dead,
        },
        .ages = fresh.ages,
        .watch = fresh.watch,
        .doubt = fresh.doubt,
        .control = fresh.control,
        .counters = QUIET,
        .raised = 0U,
        .seen = 0U,
    };
}
