#ifndef INPUTS_H
#define INPUTS_H

#include "board.h"
#include "messages.h"

/* All inputs as they were at one moment. board_sample() of a board fills them in; inputs.c gives them
   to whoever asks, the same until the next time. */
typedef struct {
    double ohm[THERMOMETER_COUNT];
    double metal_c;
    double flue_c;
    double pump_a;
    double fan_a;
    double supply_v;
    double co_ppm;
    double pulse_period_s;
    double pulse_age_s;
    uint32_t closed;  /* switches, by their places below: 1 where the contact is closed */
    uint32_t buttons; /* by their places in REQUEST_MEMBERS of messages.h */
} Inputs;

extern Inputs inputs;

enum { FLOW_SWITCH, LEVEL_LOW, LEVEL_LOW_LOW, VENT_WET, PUMP_CONTACT, DAMPER_SHUT, SMOKE, SWITCHES };

/* Thermistors hang between their input and ground, under a resistor to the reference. The steps are
   of a 12-bit converter, negative where it can't be believed; NaN where the wire is torn or shorted. */
double thermistor_ohm(int32_t steps, double series_ohm);

/* What a thermocouple's amplifier (MAX31855) has sent: NaN where it sees an open or shorted wire, or
   is not there. */
double amplified_c(uint32_t word);

/* A channel's value; NaN where the converter can't be believed. */
double scaled(int32_t steps, double per_step);

/* The flow meter's pulses, by a clock of microseconds that may pass over its end: at every edge. */
void pulse_seen(uint32_t stamp_us);
/* Their age and period now, into the inputs; with interrupts off, since an edge may come between the
   clock and the count. After half an hour without any the next one is a first one. */
void pulses_at(uint32_t now_us);

/* Whether the horn sounds at this moment of its pattern. */
bool horn_sounds(uint32_t told, uint32_t at_ms);

/* From 0 to 1; all of it for what is no number: valve open and fans full are the safer side. */
double share_of(double told);

#endif
