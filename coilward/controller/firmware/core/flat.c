/* Made by `python -m coilward.controller.firmware`; don't edit. */
#include "flat.h"

void readings_of(const double floats[READINGS_FLOATS], Readings *readings)
{
    readings->time_s = floats[0];
    readings->coil_outlet_a_c = floats[1];
    readings->coil_outlet_b_c = floats[2];
    readings->tank_c = floats[3];
    readings->radiator_inlet_c = floats[4];
    readings->radiator_outlet_c = floats[5];
    readings->coil_metal_c = floats[6];
    readings->flue_c = floats[7];
    readings->room_c = floats[8];
    readings->line_min_c = floats[9];
    readings->flow_lpm = floats[10];
    readings->pulse_age_s = floats[11];
    readings->flow_switch = floats[12];
    readings->pump_a = floats[13];
    readings->supply_v = floats[14];
    readings->level_low = floats[15];
    readings->level_low_low = floats[16];
    readings->fan_a = floats[17];
    readings->damper_shut = floats[18];
    readings->co_ppm = floats[19];
    readings->pump_contact = floats[20];
    readings->outage_s = floats[21];
    readings->vent_wet = floats[22];
    readings->smoke = floats[23];
    readings->constants_ok = floats[24];
}

Requests requests_of(uint64_t mask)
{
    return (Requests){
        .prepare = ((mask >> 0) & 1U) != 0U,
        .lit = ((mask >> 1) & 1U) != 0U,
        .finish = ((mask >> 2) & 1U) != 0U,
        .silence = ((mask >> 3) & 1U) != 0U,
        .reset = ((mask >> 4) & 1U) != 0U,
        .emergency = ((mask >> 5) & 1U) != 0U,
        .declare_out = ((mask >> 6) & 1U) != 0U,
        .remote_unsafe = ((mask >> 7) & 1U) != 0U,
        .key = ((mask >> 8) & 1U) != 0U,
        .hand_pump = ((mask >> 9) & 1U) != 0U,
        .hand_valve = ((mask >> 10) & 1U) != 0U,
        .hand_fans = ((mask >> 11) & 1U) != 0U,
        .hand_dump = ((mask >> 12) & 1U) != 0U,
        .hand_damper = ((mask >> 13) & 1U) != 0U,
    };
}

void flat_state(const State *state, double floats[STATE_FLOATS], int64_t wholes[STATE_WHOLES])
{
    floats[0] = state->ages.time_s;
    floats[1] = state->ages.phase_s;
    floats[2] = state->ages.still_s;
    floats[3] = state->ages.window_s;
    floats[4] = state->ages.proof_s;
    floats[5] = state->ages.dump_1_s;
    floats[6] = state->ages.dump_2_s;
    floats[7] = state->ages.dump_3_s;
    floats[8] = state->ages.dump_4_s;
    floats[9] = state->ages.flow_return_s;
    floats[10] = state->ages.heat_s;
    floats[11] = state->ages.cold_s;
    floats[12] = state->ages.reboot_1_s;
    floats[13] = state->ages.reboot_2_s;
    floats[14] = state->ages.reboot_3_s;
    floats[15] = state->ages.dry_reset_1_s;
    floats[16] = state->ages.dry_reset_2_s;
    floats[17] = state->watch.outlet_a_c;
    floats[18] = state->watch.outlet_a_odd_s;
    floats[19] = state->watch.outlet_b_c;
    floats[20] = state->watch.outlet_b_odd_s;
    floats[21] = state->watch.slow_a_c;
    floats[22] = state->watch.slow_b_c;
    floats[23] = state->watch.slow_metal_c;
    floats[24] = state->watch.slow_lpm;
    floats[25] = state->watch.radiator_was_c;
    floats[26] = state->watch.heat_now_w;
    floats[27] = state->watch.heat_before_w;
    floats[28] = state->watch.heat_earlier_w;
    floats[29] = state->watch.heat_window_s;
    floats[30] = state->watch.heating_s;
    floats[31] = state->watch.idle_s;
    floats[32] = state->watch.open_s;
    floats[33] = state->watch.short_s;
    floats[34] = state->watch.under_s;
    floats[35] = state->watch.weak_s;
    floats[36] = state->watch.pump_on_s;
    floats[37] = state->watch.fans_on_s;
    floats[38] = state->watch.cooled_s;
    floats[39] = state->watch.warm_line_s;
    floats[40] = state->watch.clean_s;
    floats[41] = state->watch.mute_s;
    floats[42] = state->watch.reset_s;
    floats[43] = state->watch.silence_s;
    floats[44] = state->watch.second_s;
    floats[45] = state->doubt.slow_outlet_c;
    floats[46] = state->doubt.slow_inlet_c;
    floats[47] = state->doubt.slow_rise_k;
    floats[48] = state->doubt.raw_a_c;
    floats[49] = state->doubt.same_a_s;
    floats[50] = state->doubt.near_a_c;
    floats[51] = state->doubt.raw_b_c;
    floats[52] = state->doubt.same_b_s;
    floats[53] = state->doubt.near_b_c;
    floats[54] = state->doubt.raw_tank_c;
    floats[55] = state->doubt.same_tank_s;
    floats[56] = state->doubt.residual_s;
    floats[57] = state->doubt.rise_low_k;
    floats[58] = state->doubt.rise_high_k;
    floats[59] = state->doubt.flue_low_c;
    floats[60] = state->doubt.flue_high_c;
    floats[61] = state->doubt.watched_s;
    floats[62] = state->doubt.foul_s;
    floats[63] = state->control.target_lpm;
    floats[64] = state->control.error_k;
    floats[65] = state->control.moved_s;
    floats[66] = state->control.valve;
    floats[67] = state->control.stroke_was;
    floats[68] = state->control.flow_was_lpm;
    floats[69] = state->control.fans;
    floats[70] = state->control.tries;
    floats[71] = state->control.retry_off_s;
    floats[72] = state->control.retry_gap_s;
    floats[73] = state->control.guard_s;
    floats[74] = state->control.dump_open_s;
    floats[75] = state->control.hand_s;
    wholes[0] = state->mode.phase;
    wholes[1] = state->mode.came_from;
    wholes[2] = state->mode.fire;
    wholes[3] = state->mode.coil;
    wholes[4] = state->mode.dry ? 1 : 0;
    wholes[5] = (int64_t)state->mode.latched;
    wholes[6] = state->mode.first_out;
    wholes[7] = state->mode.permitted ? 1 : 0;
    wholes[8] = state->mode.meter_dead ? 1 : 0;
    wholes[9] = (int64_t)state->watch.held;
    wholes[10] = (int64_t)state->doubt.suspects;
    wholes[11] = state->control.closing ? 1 : 0;
    wholes[12] = state->control.pump ? 1 : 0;
    wholes[13] = state->control.damper_open ? 1 : 0;
    wholes[14] = state->control.dump_open ? 1 : 0;
    wholes[15] = (int64_t)state->control.passed;
    wholes[16] = (int64_t)state->counters.at[0];
    wholes[17] = (int64_t)state->counters.at[1];
    wholes[18] = (int64_t)state->counters.at[2];
    wholes[19] = (int64_t)state->counters.at[3];
    wholes[20] = (int64_t)state->counters.at[4];
    wholes[21] = (int64_t)state->counters.at[5];
    wholes[22] = (int64_t)state->counters.at[6];
    wholes[23] = (int64_t)state->counters.at[7];
    wholes[24] = (int64_t)state->counters.at[8];
    wholes[25] = (int64_t)state->counters.at[9];
    wholes[26] = (int64_t)state->counters.at[10];
    wholes[27] = (int64_t)state->counters.at[11];
    wholes[28] = (int64_t)state->raised;
    wholes[29] = (int64_t)state->seen;
}

void state_of(const double floats[STATE_FLOATS], const int64_t wholes[STATE_WHOLES], State *state)
{
    state->ages.time_s = floats[0];
    state->ages.phase_s = floats[1];
    state->ages.still_s = floats[2];
    state->ages.window_s = floats[3];
    state->ages.proof_s = floats[4];
    state->ages.dump_1_s = floats[5];
    state->ages.dump_2_s = floats[6];
    state->ages.dump_3_s = floats[7];
    state->ages.dump_4_s = floats[8];
    state->ages.flow_return_s = floats[9];
    state->ages.heat_s = floats[10];
    state->ages.cold_s = floats[11];
    state->ages.reboot_1_s = floats[12];
    state->ages.reboot_2_s = floats[13];
    state->ages.reboot_3_s = floats[14];
    state->ages.dry_reset_1_s = floats[15];
    state->ages.dry_reset_2_s = floats[16];
    state->watch.outlet_a_c = floats[17];
    state->watch.outlet_a_odd_s = floats[18];
    state->watch.outlet_b_c = floats[19];
    state->watch.outlet_b_odd_s = floats[20];
    state->watch.slow_a_c = floats[21];
    state->watch.slow_b_c = floats[22];
    state->watch.slow_metal_c = floats[23];
    state->watch.slow_lpm = floats[24];
    state->watch.radiator_was_c = floats[25];
    state->watch.heat_now_w = floats[26];
    state->watch.heat_before_w = floats[27];
    state->watch.heat_earlier_w = floats[28];
    state->watch.heat_window_s = floats[29];
    state->watch.heating_s = floats[30];
    state->watch.idle_s = floats[31];
    state->watch.open_s = floats[32];
    state->watch.short_s = floats[33];
    state->watch.under_s = floats[34];
    state->watch.weak_s = floats[35];
    state->watch.pump_on_s = floats[36];
    state->watch.fans_on_s = floats[37];
    state->watch.cooled_s = floats[38];
    state->watch.warm_line_s = floats[39];
    state->watch.clean_s = floats[40];
    state->watch.mute_s = floats[41];
    state->watch.reset_s = floats[42];
    state->watch.silence_s = floats[43];
    state->watch.second_s = floats[44];
    state->doubt.slow_outlet_c = floats[45];
    state->doubt.slow_inlet_c = floats[46];
    state->doubt.slow_rise_k = floats[47];
    state->doubt.raw_a_c = floats[48];
    state->doubt.same_a_s = floats[49];
    state->doubt.near_a_c = floats[50];
    state->doubt.raw_b_c = floats[51];
    state->doubt.same_b_s = floats[52];
    state->doubt.near_b_c = floats[53];
    state->doubt.raw_tank_c = floats[54];
    state->doubt.same_tank_s = floats[55];
    state->doubt.residual_s = floats[56];
    state->doubt.rise_low_k = floats[57];
    state->doubt.rise_high_k = floats[58];
    state->doubt.flue_low_c = floats[59];
    state->doubt.flue_high_c = floats[60];
    state->doubt.watched_s = floats[61];
    state->doubt.foul_s = floats[62];
    state->control.target_lpm = floats[63];
    state->control.error_k = floats[64];
    state->control.moved_s = floats[65];
    state->control.valve = floats[66];
    state->control.stroke_was = floats[67];
    state->control.flow_was_lpm = floats[68];
    state->control.fans = floats[69];
    state->control.tries = floats[70];
    state->control.retry_off_s = floats[71];
    state->control.retry_gap_s = floats[72];
    state->control.guard_s = floats[73];
    state->control.dump_open_s = floats[74];
    state->control.hand_s = floats[75];
    state->mode.phase = wholes[0];
    state->mode.came_from = wholes[1];
    state->mode.fire = wholes[2];
    state->mode.coil = wholes[3];
    state->mode.dry = wholes[4] != 0;
    state->mode.latched = (uint64_t)wholes[5];
    state->mode.first_out = wholes[6];
    state->mode.permitted = wholes[7] != 0;
    state->mode.meter_dead = wholes[8] != 0;
    state->watch.held = (uint64_t)wholes[9];
    state->doubt.suspects = (uint64_t)wholes[10];
    state->control.closing = wholes[11] != 0;
    state->control.pump = wholes[12] != 0;
    state->control.damper_open = wholes[13] != 0;
    state->control.dump_open = wholes[14] != 0;
    state->control.passed = (uint64_t)wholes[15];
    state->counters.at[0] = (uint64_t)wholes[16];
    state->counters.at[1] = (uint64_t)wholes[17];
    state->counters.at[2] = (uint64_t)wholes[18];
    state->counters.at[3] = (uint64_t)wholes[19];
    state->counters.at[4] = (uint64_t)wholes[20];
    state->counters.at[5] = (uint64_t)wholes[21];
    state->counters.at[6] = (uint64_t)wholes[22];
    state->counters.at[7] = (uint64_t)wholes[23];
    state->counters.at[8] = (uint64_t)wholes[24];
    state->counters.at[9] = (uint64_t)wholes[25];
    state->counters.at[10] = (uint64_t)wholes[26];
    state->counters.at[11] = (uint64_t)wholes[27];
    state->raised = (uint64_t)wholes[28];
    state->seen = (uint64_t)wholes[29];
}

void flat_commands(const Commands *commands, double floats[COMMANDS_FLOATS],
    int64_t wholes[COMMANDS_WHOLES])
{
    floats[0] = commands->valve;
    floats[1] = commands->fans;
    wholes[0] = commands->pump ? 1 : 0;
    wholes[1] = commands->damper_open ? 1 : 0;
    wholes[2] = commands->dump_open ? 1 : 0;
    wholes[3] = commands->horn;
    wholes[4] = commands->may_light ? 1 : 0;
}
