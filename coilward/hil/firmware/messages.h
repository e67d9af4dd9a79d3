/* Written by `python -m coilward.hil.firmware.writing` from coilward/hil/messages.py;
   don't edit. */
#ifndef MESSAGES_H
#define MESSAGES_H

#include <stdbool.h>
#include <stdint.h>

#define WIRE_VERSION "cw1"
#define WIRE_TABLE "a9e6a597"
#define LONGEST_LINE 2048
#define LONGEST_SENT 404
#define LARGEST_WHOLE INT64_C(9223372036854775807)
#define MOST_FIELDS 29
#define SILENT_MS 2000
#define HORN_CONTINUOUS_TOLD 3
#define LEAST_OHM 1.0
#define MOST_OHM 10000000.0

enum {
    MSG_HELLO,
    MSG_COIL,
    MSG_HOUSE,
    MSG_WATER,
    MSG_POWER,
    MSG_MOMENT,
    MSG_COMMANDS,
    MSG_DECIDED,
    MSG_AGAIN,
    MSG_REFUSE,
    MSG_SILENT,
    MSG_RESTART,
    MSG_DONE,
    MSG_BYE,
    MSG_SET_MODE,
    MSG_SET_AGES,
    MSG_SET_WATCH,
    MSG_SET_DOUBT,
    MSG_SET_CONTROL,
    MSG_SET_COUNTERS,
    MSG_COUNT,
};

enum {
    KIND_FLOAT,
    KIND_WHOLE,
    KIND_FLAG,
    KIND_WORD,
};

enum {
    HELLO_TABLE,
    HELLO_SIDE,
    HELLO_OPENED,
    HELLO_CONSTANTS,
    HELLO_TICK_S,
    HELLO_PROGRAM,
    HELLO_OUTLET_MOST_C,
    HELLO_TANK_MOST_C,
};

enum {
    COIL_COIL_OUTLET_A_C,
    COIL_COIL_OUTLET_A_OHM,
    COIL_COIL_OUTLET_B_C,
    COIL_COIL_OUTLET_B_OHM,
    COIL_COIL_METAL_C,
    COIL_COIL_METAL_OHM,
    COIL_FLUE_C,
    COIL_FLUE_OHM,
};

enum {
    HOUSE_TANK_C,
    HOUSE_TANK_OHM,
    HOUSE_RADIATOR_INLET_C,
    HOUSE_RADIATOR_INLET_OHM,
    HOUSE_RADIATOR_OUTLET_C,
    HOUSE_RADIATOR_OUTLET_OHM,
    HOUSE_ROOM_C,
    HOUSE_ROOM_OHM,
    HOUSE_LINE_MIN_C,
    HOUSE_LINE_MIN_OHM,
};

enum {
    WATER_PULSES,
    WATER_PULSE_PERIOD_S,
    WATER_PULSE_AGE_S,
    WATER_FLOW_SWITCH,
    WATER_LEVEL_LOW,
    WATER_LEVEL_LOW_LOW,
    WATER_VENT_WET,
};

enum {
    POWER_PUMP_A,
    POWER_FAN_A,
    POWER_SUPPLY_V,
    POWER_CO_PPM,
    POWER_PUMP_CONTACT,
    POWER_DAMPER_SHUT,
    POWER_SMOKE,
};

enum {
    MOMENT_TIME_S,
    MOMENT_OUTAGE_S,
    MOMENT_CONSTANTS_OK,
    MOMENT_PREPARE,
    MOMENT_LIT,
    MOMENT_FINISH,
    MOMENT_SILENCE,
    MOMENT_RESET,
    MOMENT_EMERGENCY,
    MOMENT_DECLARE_OUT,
    MOMENT_REMOTE_UNSAFE,
    MOMENT_KEY,
    MOMENT_HAND_PUMP,
    MOMENT_HAND_VALVE,
    MOMENT_HAND_FANS,
    MOMENT_HAND_DUMP,
    MOMENT_HAND_DAMPER,
};

enum {
    COMMANDS_PUMP,
    COMMANDS_VALVE,
    COMMANDS_FANS,
    COMMANDS_DAMPER_OPEN,
    COMMANDS_DUMP_OPEN,
    COMMANDS_HORN,
    COMMANDS_MAY_LIGHT,
};

enum {
    DECIDED_PHASE,
    DECIDED_FIRE,
    DECIDED_COIL,
    DECIDED_RAISED,
    DECIDED_LATCHED,
    DECIDED_FIRST_OUT,
    DECIDED_DIGEST,
    DECIDED_SILENT,
};

enum {
    AGAIN_PARTS,
};

enum {
    REFUSE_REASON,
};

enum {
    SILENT_COUNT,
    SILENT_PUMP,
    SILENT_VALVE,
    SILENT_FANS,
    SILENT_DAMPER_OPEN,
    SILENT_DUMP_OPEN,
    SILENT_HORN,
    SILENT_MAY_LIGHT,
};

enum {
    RESTART_COUNT,
};

enum {
    DONE_COUNT,
    DONE_DIGEST,
};

enum {
    SET_MODE_MODE_PHASE,
    SET_MODE_MODE_CAME_FROM,
    SET_MODE_MODE_FIRE,
    SET_MODE_MODE_COIL,
    SET_MODE_MODE_DRY,
    SET_MODE_MODE_LATCHED,
    SET_MODE_MODE_FIRST_OUT,
    SET_MODE_MODE_PERMITTED,
    SET_MODE_MODE_METER_DEAD,
};

enum {
    SET_AGES_AGES_TIME_S,
    SET_AGES_AGES_PHASE_S,
    SET_AGES_AGES_STILL_S,
    SET_AGES_AGES_WINDOW_S,
    SET_AGES_AGES_PROOF_S,
    SET_AGES_AGES_DUMP_1_S,
    SET_AGES_AGES_DUMP_2_S,
    SET_AGES_AGES_DUMP_3_S,
    SET_AGES_AGES_DUMP_4_S,
    SET_AGES_AGES_FLOW_RETURN_S,
    SET_AGES_AGES_HEAT_S,
    SET_AGES_AGES_COLD_S,
    SET_AGES_AGES_REBOOT_1_S,
    SET_AGES_AGES_REBOOT_2_S,
    SET_AGES_AGES_REBOOT_3_S,
    SET_AGES_AGES_DRY_RESET_1_S,
    SET_AGES_AGES_DRY_RESET_2_S,
};

enum {
    SET_WATCH_WATCH_OUTLET_A_C,
    SET_WATCH_WATCH_OUTLET_A_ODD_S,
    SET_WATCH_WATCH_OUTLET_B_C,
    SET_WATCH_WATCH_OUTLET_B_ODD_S,
    SET_WATCH_WATCH_SLOW_A_C,
    SET_WATCH_WATCH_SLOW_B_C,
    SET_WATCH_WATCH_SLOW_METAL_C,
    SET_WATCH_WATCH_SLOW_LPM,
    SET_WATCH_WATCH_RADIATOR_WAS_C,
    SET_WATCH_WATCH_HEAT_NOW_W,
    SET_WATCH_WATCH_HEAT_BEFORE_W,
    SET_WATCH_WATCH_HEAT_EARLIER_W,
    SET_WATCH_WATCH_HEAT_WINDOW_S,
    SET_WATCH_WATCH_HEATING_S,
    SET_WATCH_WATCH_IDLE_S,
    SET_WATCH_WATCH_OPEN_S,
    SET_WATCH_WATCH_SHORT_S,
    SET_WATCH_WATCH_UNDER_S,
    SET_WATCH_WATCH_WEAK_S,
    SET_WATCH_WATCH_PUMP_ON_S,
    SET_WATCH_WATCH_FANS_ON_S,
    SET_WATCH_WATCH_COOLED_S,
    SET_WATCH_WATCH_WARM_LINE_S,
    SET_WATCH_WATCH_CLEAN_S,
    SET_WATCH_WATCH_HELD,
    SET_WATCH_WATCH_MUTE_S,
    SET_WATCH_WATCH_RESET_S,
    SET_WATCH_WATCH_SILENCE_S,
    SET_WATCH_WATCH_SECOND_S,
};

enum {
    SET_DOUBT_DOUBT_SUSPECTS,
    SET_DOUBT_DOUBT_SLOW_OUTLET_C,
    SET_DOUBT_DOUBT_SLOW_INLET_C,
    SET_DOUBT_DOUBT_SLOW_RISE_K,
    SET_DOUBT_DOUBT_RAW_A_C,
    SET_DOUBT_DOUBT_SAME_A_S,
    SET_DOUBT_DOUBT_NEAR_A_C,
    SET_DOUBT_DOUBT_RAW_B_C,
    SET_DOUBT_DOUBT_SAME_B_S,
    SET_DOUBT_DOUBT_NEAR_B_C,
    SET_DOUBT_DOUBT_RAW_TANK_C,
    SET_DOUBT_DOUBT_SAME_TANK_S,
    SET_DOUBT_DOUBT_RESIDUAL_S,
    SET_DOUBT_DOUBT_RISE_LOW_K,
    SET_DOUBT_DOUBT_RISE_HIGH_K,
    SET_DOUBT_DOUBT_FLUE_LOW_C,
    SET_DOUBT_DOUBT_FLUE_HIGH_C,
    SET_DOUBT_DOUBT_WATCHED_S,
    SET_DOUBT_DOUBT_FOUL_S,
};

enum {
    SET_CONTROL_CONTROL_TARGET_LPM,
    SET_CONTROL_CONTROL_ERROR_K,
    SET_CONTROL_CONTROL_MOVED_S,
    SET_CONTROL_CONTROL_VALVE,
    SET_CONTROL_CONTROL_CLOSING,
    SET_CONTROL_CONTROL_STROKE_WAS,
    SET_CONTROL_CONTROL_FLOW_WAS_LPM,
    SET_CONTROL_CONTROL_PUMP,
    SET_CONTROL_CONTROL_FANS,
    SET_CONTROL_CONTROL_DAMPER_OPEN,
    SET_CONTROL_CONTROL_DUMP_OPEN,
    SET_CONTROL_CONTROL_TRIES,
    SET_CONTROL_CONTROL_RETRY_OFF_S,
    SET_CONTROL_CONTROL_RETRY_GAP_S,
    SET_CONTROL_CONTROL_GUARD_S,
    SET_CONTROL_CONTROL_PASSED,
    SET_CONTROL_CONTROL_DUMP_OPEN_S,
    SET_CONTROL_CONTROL_HAND_S,
};

enum {
    SET_COUNTERS_COUNTERS_0,
    SET_COUNTERS_COUNTERS_1,
    SET_COUNTERS_COUNTERS_2,
    SET_COUNTERS_COUNTERS_3,
    SET_COUNTERS_COUNTERS_4,
    SET_COUNTERS_COUNTERS_5,
    SET_COUNTERS_COUNTERS_6,
    SET_COUNTERS_COUNTERS_7,
    SET_COUNTERS_COUNTERS_8,
    SET_COUNTERS_COUNTERS_9,
    SET_COUNTERS_COUNTERS_10,
    SET_COUNTERS_COUNTERS_11,
    SET_COUNTERS_RAISED,
    SET_COUNTERS_SEEN,
};

/* Place of every number of a tick, part by part. */
enum {
    AT_COIL_OUTLET_A_C,
    AT_COIL_OUTLET_A_OHM,
    AT_COIL_OUTLET_B_C,
    AT_COIL_OUTLET_B_OHM,
    AT_COIL_METAL_C,
    AT_COIL_METAL_OHM,
    AT_FLUE_C,
    AT_FLUE_OHM,
    AT_TANK_C,
    AT_TANK_OHM,
    AT_RADIATOR_INLET_C,
    AT_RADIATOR_INLET_OHM,
    AT_RADIATOR_OUTLET_C,
    AT_RADIATOR_OUTLET_OHM,
    AT_ROOM_C,
    AT_ROOM_OHM,
    AT_LINE_MIN_C,
    AT_LINE_MIN_OHM,
    AT_PULSES,
    AT_PULSE_PERIOD_S,
    AT_PULSE_AGE_S,
    AT_FLOW_SWITCH,
    AT_LEVEL_LOW,
    AT_LEVEL_LOW_LOW,
    AT_VENT_WET,
    AT_PUMP_A,
    AT_FAN_A,
    AT_SUPPLY_V,
    AT_CO_PPM,
    AT_PUMP_CONTACT,
    AT_DAMPER_SHUT,
    AT_SMOKE,
    AT_TIME_S,
    AT_OUTAGE_S,
    AT_CONSTANTS_OK,
    AT_PREPARE,
    AT_LIT,
    AT_FINISH,
    AT_SILENCE,
    AT_RESET,
    AT_EMERGENCY,
    AT_DECLARE_OUT,
    AT_REMOTE_UNSAFE,
    AT_KEY,
    AT_HAND_PUMP,
    AT_HAND_VALVE,
    AT_HAND_FANS,
    AT_HAND_DUMP,
    AT_HAND_DAMPER,
    AT_COUNT,
};

enum { TICK_FIRST = MSG_COIL, TICK_PARTS = 5 };
enum { MEMORY_FIRST = MSG_SET_MODE, MEMORY_PARTS = 6 };
enum { STATE_FIELDS = 106 };

typedef struct {
    const char *name;
    uint8_t kind;
    bool needed;
} Field;

typedef struct {
    const char *name;
    const Field *fields;
    uint8_t count;
    uint8_t first; /* of its fields: in a tick, or in a state */
} Message;

extern const Message MESSAGES[MSG_COUNT];

/* Members of a state, in the order in which they are sent and digested. */
#define STATE_MEMBERS(FLOAT, WHOLE, FLAG) \
    WHOLE(mode.phase) \
    WHOLE(mode.came_from) \
    WHOLE(mode.fire) \
    WHOLE(mode.coil) \
    FLAG(mode.dry) \
    WHOLE(mode.latched) \
    WHOLE(mode.first_out) \
    FLAG(mode.permitted) \
    FLAG(mode.meter_dead) \
    FLOAT(ages.time_s) \
    FLOAT(ages.phase_s) \
    FLOAT(ages.still_s) \
    FLOAT(ages.window_s) \
    FLOAT(ages.proof_s) \
    FLOAT(ages.dump_1_s) \
    FLOAT(ages.dump_2_s) \
    FLOAT(ages.dump_3_s) \
    FLOAT(ages.dump_4_s) \
    FLOAT(ages.flow_return_s) \
    FLOAT(ages.heat_s) \
    FLOAT(ages.cold_s) \
    FLOAT(ages.reboot_1_s) \
    FLOAT(ages.reboot_2_s) \
    FLOAT(ages.reboot_3_s) \
    FLOAT(ages.dry_reset_1_s) \
    FLOAT(ages.dry_reset_2_s) \
    FLOAT(watch.outlet_a_c) \
    FLOAT(watch.outlet_a_odd_s) \
    FLOAT(watch.outlet_b_c) \
    FLOAT(watch.outlet_b_odd_s) \
    FLOAT(watch.slow_a_c) \
    FLOAT(watch.slow_b_c) \
    FLOAT(watch.slow_metal_c) \
    FLOAT(watch.slow_lpm) \
    FLOAT(watch.radiator_was_c) \
    FLOAT(watch.heat_now_w) \
    FLOAT(watch.heat_before_w) \
    FLOAT(watch.heat_earlier_w) \
    FLOAT(watch.heat_window_s) \
    FLOAT(watch.heating_s) \
    FLOAT(watch.idle_s) \
    FLOAT(watch.open_s) \
    FLOAT(watch.short_s) \
    FLOAT(watch.under_s) \
    FLOAT(watch.weak_s) \
    FLOAT(watch.pump_on_s) \
    FLOAT(watch.fans_on_s) \
    FLOAT(watch.cooled_s) \
    FLOAT(watch.warm_line_s) \
    FLOAT(watch.clean_s) \
    WHOLE(watch.held) \
    FLOAT(watch.mute_s) \
    FLOAT(watch.reset_s) \
    FLOAT(watch.silence_s) \
    FLOAT(watch.second_s) \
    WHOLE(doubt.suspects) \
    FLOAT(doubt.slow_outlet_c) \
    FLOAT(doubt.slow_inlet_c) \
    FLOAT(doubt.slow_rise_k) \
    FLOAT(doubt.raw_a_c) \
    FLOAT(doubt.same_a_s) \
    FLOAT(doubt.near_a_c) \
    FLOAT(doubt.raw_b_c) \
    FLOAT(doubt.same_b_s) \
    FLOAT(doubt.near_b_c) \
    FLOAT(doubt.raw_tank_c) \
    FLOAT(doubt.same_tank_s) \
    FLOAT(doubt.residual_s) \
    FLOAT(doubt.rise_low_k) \
    FLOAT(doubt.rise_high_k) \
    FLOAT(doubt.flue_low_c) \
    FLOAT(doubt.flue_high_c) \
    FLOAT(doubt.watched_s) \
    FLOAT(doubt.foul_s) \
    FLOAT(control.target_lpm) \
    FLOAT(control.error_k) \
    FLOAT(control.moved_s) \
    FLOAT(control.valve) \
    FLAG(control.closing) \
    FLOAT(control.stroke_was) \
    FLOAT(control.flow_was_lpm) \
    FLAG(control.pump) \
    FLOAT(control.fans) \
    FLAG(control.damper_open) \
    FLAG(control.dump_open) \
    FLOAT(control.tries) \
    FLOAT(control.retry_off_s) \
    FLOAT(control.retry_gap_s) \
    FLOAT(control.guard_s) \
    WHOLE(control.passed) \
    FLOAT(control.dump_open_s) \
    FLOAT(control.hand_s) \
    WHOLE(counters.at[0]) \
    WHOLE(counters.at[1]) \
    WHOLE(counters.at[2]) \
    WHOLE(counters.at[3]) \
    WHOLE(counters.at[4]) \
    WHOLE(counters.at[5]) \
    WHOLE(counters.at[6]) \
    WHOLE(counters.at[7]) \
    WHOLE(counters.at[8]) \
    WHOLE(counters.at[9]) \
    WHOLE(counters.at[10]) \
    WHOLE(counters.at[11]) \
    WHOLE(raised) \
    WHOLE(seen)

/* Readings that are sent as they are: member, place. */
#define SAME_READINGS(SAME) \
    SAME(pulse_age_s, AT_PULSE_AGE_S) \
    SAME(flow_switch, AT_FLOW_SWITCH) \
    SAME(level_low, AT_LEVEL_LOW) \
    SAME(level_low_low, AT_LEVEL_LOW_LOW) \
    SAME(vent_wet, AT_VENT_WET) \
    SAME(pump_a, AT_PUMP_A) \
    SAME(fan_a, AT_FAN_A) \
    SAME(supply_v, AT_SUPPLY_V) \
    SAME(co_ppm, AT_CO_PPM) \
    SAME(pump_contact, AT_PUMP_CONTACT) \
    SAME(damper_shut, AT_DAMPER_SHUT) \
    SAME(smoke, AT_SMOKE) \
    SAME(time_s, AT_TIME_S) \
    SAME(outage_s, AT_OUTAGE_S) \
    SAME(constants_ok, AT_CONSTANTS_OK)

/* Thermometers: place in the loop's table, member, place in degC, place in ohm. */
#define THERMOMETERS(THERMOMETER) \
    THERMOMETER(0, coil_outlet_a_c, AT_COIL_OUTLET_A_C, AT_COIL_OUTLET_A_OHM) \
    THERMOMETER(1, coil_outlet_b_c, AT_COIL_OUTLET_B_C, AT_COIL_OUTLET_B_OHM) \
    THERMOMETER(2, tank_c, AT_TANK_C, AT_TANK_OHM) \
    THERMOMETER(3, radiator_inlet_c, AT_RADIATOR_INLET_C, AT_RADIATOR_INLET_OHM) \
    THERMOMETER(4, radiator_outlet_c, AT_RADIATOR_OUTLET_C, AT_RADIATOR_OUTLET_OHM) \
    THERMOMETER(5, coil_metal_c, AT_COIL_METAL_C, AT_COIL_METAL_OHM) \
    THERMOMETER(6, flue_c, AT_FLUE_C, AT_FLUE_OHM) \
    THERMOMETER(7, room_c, AT_ROOM_C, AT_ROOM_OHM) \
    THERMOMETER(8, line_min_c, AT_LINE_MIN_C, AT_LINE_MIN_OHM)
enum { THERMOMETER_COUNT = 9 };

#define REQUEST_MEMBERS(REQUEST) \
    REQUEST(prepare, AT_PREPARE) \
    REQUEST(lit, AT_LIT) \
    REQUEST(finish, AT_FINISH) \
    REQUEST(silence, AT_SILENCE) \
    REQUEST(reset, AT_RESET) \
    REQUEST(emergency, AT_EMERGENCY) \
    REQUEST(declare_out, AT_DECLARE_OUT) \
    REQUEST(remote_unsafe, AT_REMOTE_UNSAFE) \
    REQUEST(key, AT_KEY) \
    REQUEST(hand_pump, AT_HAND_PUMP) \
    REQUEST(hand_valve, AT_HAND_VALVE) \
    REQUEST(hand_fans, AT_HAND_FANS) \
    REQUEST(hand_dump, AT_HAND_DUMP) \
    REQUEST(hand_damper, AT_HAND_DAMPER)

#define COMMAND_MEMBERS(FLOAT, WHOLE, FLAG) \
    FLAG(pump, COMMANDS_PUMP, SILENT_PUMP) \
    FLOAT(valve, COMMANDS_VALVE, SILENT_VALVE) \
    FLOAT(fans, COMMANDS_FANS, SILENT_FANS) \
    FLAG(damper_open, COMMANDS_DAMPER_OPEN, SILENT_DAMPER_OPEN) \
    FLAG(dump_open, COMMANDS_DUMP_OPEN, SILENT_DUMP_OPEN) \
    WHOLE(horn, COMMANDS_HORN, SILENT_HORN) \
    FLAG(may_light, COMMANDS_MAY_LIGHT, SILENT_MAY_LIGHT)

#endif
