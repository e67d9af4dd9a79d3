/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/state.py; don't edit.
 */
#ifndef STATE_H
#define STATE_H

/* What the logic remembers from tick to tick, and what of it survives a reboot. */
#include "numbers.h"
#include "constants.h"
#include "debounce.h"
#include "plausibility.h"

/* Fire states. Unknown is treated as yes. */
#define NO INT64_C(0)
#define YES INT64_C(1)
#define UNKNOWN INT64_C(2)
/* Coil states. */
#define COLD INT64_C(0)
#define WET INT64_C(1)
#define AT_RISK INT64_C(2)
#define MAYBE_DRY INT64_C(3)
/* An age for what has not happened. */
#define LONG_AGO_S 1000000000.0
#define LAST_PHASE INT64_C(11)

/* What a person would call the state. All of it is stored, and survives a reboot. */
typedef struct {
    int64_t phase;
    /* Phase to return to from a no-flow fault; at boot, the phase before. */
    int64_t came_from;
    int64_t fire;
    int64_t coil;
    /* The dry latch: set when the coil may be dry, cleared by a person at the board alone. */
    bool dry;
    /* Rows that stay until a person resets them. */
    uint64_t latched;
    /* Index of the first row of the present trouble, -1 for none. */
    int64_t first_out;
    /* The pre-light check has passed and still holds. */
    bool permitted;
    /* The meter is known to lie while water moves: its silence no longer counts. */
    bool meter_dead;
} Mode;

/* Seconds since things happened or for which they have lasted. All stored. */
typedef struct {
    /* Time of the last tick. */
    double time_s;
    double phase_s;
    /* The coil's clock: how long no flow has been seen with a fire possible. */
    double still_s;
    /* Refill window as computed when water was last seen moving. */
    double window_s;
    /* How long flow has been seen without a gap. */
    double proof_s;
    double dump_1_s;
    double dump_2_s;
    double dump_3_s;
    /* Since the last dump, the one before, and so on. */
    double dump_4_s;
    /* Since the last return from a no-flow fault. */
    double flow_return_s;
    /* Since the last sign of heat in the coil. */
    double heat_s;
    /* How long the burn-out evidence has held. */
    double cold_s;
    double reboot_1_s;
    double reboot_2_s;
    /* Since the last start of the board, the one before, and so on. */
    double reboot_3_s;
    double dry_reset_1_s;
    /* Since a person last ended a dry lock-out, and the time before. */
    double dry_reset_2_s;
} Ages;

/* What the eyes remember: filters and timers. Starts afresh after a reboot. */
typedef struct {
    double outlet_a_c;
    double outlet_a_odd_s;
    double outlet_b_c;
    double outlet_b_odd_s;
    double slow_a_c;
    double slow_b_c;
    double slow_metal_c;
    double slow_lpm;
    /* Radiator outlet when flow was last seen. */
    double radiator_was_c;
    double heat_now_w;
    double heat_before_w;
    double heat_earlier_w;
    double heat_window_s;
    double heating_s;
    double idle_s;
    /* How long the valve has been told to stand fully open. */
    double open_s;
    /* How long more flow has been needed than the loop has. */
    double short_s;
    /* How long the flow has been under its minimum with the valve fully open. */
    double under_s;
    /* How long the radiator has given less than half of what it should. */
    double weak_s;
    double pump_on_s;
    double fans_on_s;
    double cooled_s;
    double warm_line_s;
    /* How long no cause of a returning row has been present. */
    double clean_s;
    /* Returning rows that wait for their clean time. */
    uint64_t held;
    double mute_s;
    /* How long the reset button has been held; negative until it is let go. */
    double reset_s;
    double silence_s;
    /* Time since the rules that are judged once a second were judged. */
    double second_s;
} Watch;

/* Valve loop, retries, pre-light check, and the last commands. */
typedef struct {
    double target_lpm;
    double error_k;
    double moved_s;
    /* Stroke that is wanted; on the way shut the output goes past it once, for the backlash. */
    double valve;
    /* The last move was toward shut. */
    bool closing;
    /* Stroke and flow at which the valve was last seen to answer. */
    double stroke_was;
    double flow_was_lpm;
    bool pump;
    double fans;
    bool damper_open;
    bool dump_open;
    double tries;
    double retry_off_s;
    double retry_gap_s;
    /* Place in the freeze guard's cycle of running and resting. */
    double guard_s;
    /* Pre-light checks passed, as a mask. */
    uint64_t passed;
    /* How long the dump has been told to stand open. */
    double dump_open_s;
    /* How long outputs have been held by hand. */
    double hand_s;
} Control;

/* All that the logic remembers. */
typedef struct {
    Mode mode;
    Ages ages;
    Watch watch;
    Doubt doubt;
    Control control;
    Counters counters;
    /* Rows that count in this tick. */
    uint64_t raised;
    /* Rows whose cause was present in this tick, debounced or not. */
    uint64_t seen;
} State;

void first_state(const Constants *constants, int64_t phase, int64_t fire, State *out);

void after_reboot(const State *state, State *out);

bool is_sound(const State *state);

void restarted(const State *state, const Constants *constants, State *out);

#endif
