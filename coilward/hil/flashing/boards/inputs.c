/* What every board's inputs have in common, behind the functions of board.h. */
#include "inputs.h"

#include "numbers.h"

enum { STEPS = 4095, NEAR_END = 20 };
static const uint32_t LONG_AGO_US = 1800000000U;

Inputs inputs;
static volatile uint32_t pulse_us;
static volatile uint32_t pulse_period_us;
static volatile uint32_t pulses_seen;

double thermistor_ohm(int32_t steps, double series_ohm)
{
    if (steps < NEAR_END || steps > STEPS - NEAR_END) {
        return NOT_KNOWN;
    }
    return series_ohm * (double)steps / (double)(STEPS - steps);
}

double amplified_c(uint32_t word)
{
    bool broken = (word & UINT32_C(0x00010007)) != 0U || word == 0U;
    double quarters = (double)(word >> 18) - ((word >> 31) != 0U ? 16384.0 : 0.0);
    return broken ? NOT_KNOWN : quarters / 4.0;
}

double scaled(int32_t steps, double per_step)
{
    return steps < 0 ? NOT_KNOWN : per_step * (double)steps;
}

void pulse_seen(uint32_t stamp_us)
{
    pulse_period_us = stamp_us - pulse_us;
    pulse_us = stamp_us;
    if (pulses_seen < 2U) {
        pulses_seen = pulses_seen + 1U;
    }
}

void pulses_at(uint32_t now_us)
{
    uint32_t age_us = now_us - pulse_us;
    if (pulses_seen > 0U && age_us > LONG_AGO_US) {
        pulses_seen = 0;
    }
    inputs.pulse_age_s = (double)(pulses_seen > 0U ? age_us : LONG_AGO_US) / 1e6;
    inputs.pulse_period_s = pulses_seen > 1U ? (double)pulse_period_us / 1e6 : NO_LIMIT;
}

bool horn_sounds(uint32_t told, uint32_t at_ms)
{
    uint32_t phase_ms = at_ms % 4000U;
    return told == 3U || (told == 2U && phase_ms % 1000U < 500U) || (told == 1U && phase_ms < 100U);
}

double share_of(double told)
{
    if (!(told < 1.0)) {
        return 1.0;
    }
    return told > 0.0 ? told : 0.0;
}

double board_thermometer_ohm(int channel) { return inputs.ohm[channel]; }

/* Thermocouples of coil metal and flue. Any other thermometer that gives degrees needs its own
   driver; without one it is not there. */
double board_thermometer_c(int channel)
{
    enum { METAL = 5, FLUE = 6 }; /* places among THERMOMETERS of messages.h */
    if (channel == METAL) {
        return inputs.metal_c;
    }
    return channel == FLUE ? inputs.flue_c : NOT_KNOWN;
}

double board_pulse_age_s(void) { return inputs.pulse_age_s; }
double board_pulse_period_s(void) { return inputs.pulse_period_s; }
double board_pump_a(void) { return inputs.pump_a; }
double board_fan_a(void) { return inputs.fan_a; }
double board_supply_v(void) { return inputs.supply_v; }
double board_co_ppm(void) { return inputs.co_ppm; }

static double closed(uint32_t place) { return (inputs.closed >> place & 1U) != 0U ? 1.0 : 0.0; }

double board_flow_switch(void) { return closed(FLOW_SWITCH); }
double board_level_low(void) { return 1.0 - closed(LEVEL_LOW); }         /* opens when low */
double board_level_low_low(void) { return 1.0 - closed(LEVEL_LOW_LOW); } /* opens when low */
double board_vent_wet(void) { return closed(VENT_WET); }
double board_pump_contact(void) { return closed(PUMP_CONTACT); }
double board_damper_shut(void) { return closed(DAMPER_SHUT); }
double board_smoke(void) { return 1.0 - closed(SMOKE); } /* opens when it smokes */

double board_button(int button)
{
    return (inputs.buttons >> (uint32_t)button & 1U) != 0U ? 1.0 : 0.0;
}

/* The program checks its constants itself; nobody checks the rest of the flash. */
bool board_image_sound(void) { return true; }
