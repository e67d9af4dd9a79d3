/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/types.py; don't edit.
 */
#ifndef TYPES_H
#define TYPES_H

/*
 * What goes into a tick and what comes out: plain numbers, one type a part.
 *
 * Temperatures in degrees Celsius, flows in litres a minute, times in seconds. In `Readings`,
 * NaN means "not known". Switches are 1.0 or 0.0. Masks are whole numbers of at most 62 bits.
 */
#include "numbers.h"

/* One tick of what the board knows. */
typedef struct {
    /* Monotonic time of this tick. */
    double time_s;
    double coil_outlet_a_c;
    double coil_outlet_b_c;
    double tank_c;
    double radiator_inlet_c;
    double radiator_outlet_c;
    double coil_metal_c;
    double flue_c;
    double room_c;
    /* Coldest outdoor pipe. */
    double line_min_c;
    /* From the time between the last two pulses. */
    double flow_lpm;
    /* Time since the last pulse. */
    double pulse_age_s;
    /* A second proof of flow: 1.0 while water moves. */
    double flow_switch;
    double pump_a;
    double supply_v;
    double level_low;
    double level_low_low;
    double fan_a;
    double damper_shut;
    double co_ppm;
    /* 1.0 while the pump's seal-in contactor is closed. */
    double pump_contact;
    /* How long the board was off before its last start; NaN when not known. */
    double outage_s;
    /* 1.0 while the open end of the vent or relief discharges. */
    double vent_wet;
    /* 1.0 while heat or smoke is detected outside the firebox. */
    double smoke;
    /*
     * 1.0 if the constants and the program on the board belong to this loop, 0.0 if not.
     *
     * A board can always tell: not known counts as not.
     */
    double constants_ok;
} Readings;

/* What a person asks in this tick. Buttons are true while held. */
typedef struct {
    bool prepare;
    bool lit;
    bool finish;
    bool silence;
    bool reset;
    bool emergency;
    /* A person at the board declares the fire out and the metal cold. */
    bool declare_out;
    /* A remote or manual request toward the unsafe side (pump off, valve shut, reset...). */
    bool remote_unsafe;
    /* The key at the board is turned: maintenance, and resets beyond the usual number. */
    bool key;
    /* By hand, while held: the pump runs. */
    bool hand_pump;
    /* By hand, while held: the valve opens; in maintenance it goes to its stop. */
    bool hand_valve;
    /* By hand, while held: the fans run full. */
    bool hand_fans;
    /* By hand, while held: the dump opens. */
    bool hand_dump;
    /* By hand, while held: the damper shuts; in maintenance it opens. */
    bool hand_damper;
} Requests;

/* What the outputs are told. */
typedef struct {
    bool pump;
    /* Stroke, 0 shut to 1 open. */
    double valve;
    /* 0 off to 1 full. */
    double fans;
    bool damper_open;
    bool dump_open;
    /* 0 silent, 1 beep, 2 intermittent, 3 continuous. */
    int64_t horn;
    bool may_light;
} Commands;

#endif
