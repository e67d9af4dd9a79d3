/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/constants.py; don't
 * edit.
 */
#ifndef CONSTANTS_H
#define CONSTANTS_H

/*
 * The numbers that the logic runs on: derived from one loop, never typed.
 *
 * `constants_for` is the only way in. Every limit comes from `coilward.loop.derived`, which
 * lets a typed limit move a derived one to the safer side only.
 */
#include "numbers.h"
#include "debounce.h"
#include "reckoned.h"

typedef struct {
    double at[9];
} Curve;

typedef struct {
    double at[8];
} Slopes;

/* Temperatures in degrees Celsius. */
typedef struct {
    double boil_c;
    double allow_c;
    double set_point_c;
    double outlet_warn_c;
    double outlet_dump_c;
    double outlet_hh_c;
    double outlet_rate_k_s;
    /* A step between two samples beyond this is an outlier until it has lasted. */
    double outlet_jump_k;
    double tank_warn_c;
    double tank_trip_c;
    double tank_hh_c;
    double tank_finish_c;
    double metal_high_c;
    double metal_dry_c;
    /* Room temperature above which the fans may rest. */
    double not_over_c;
    /* What people bear: of the tub's water, else of the room's air. */
    double people_c;
} Limits;

/* Flows in litres a minute, heats in watts. */
typedef struct {
    /* Heat that one litre a minute carries per kelvin. */
    double w_per_lpm_k;
    double coil_j_k;
    double coil_l;
    /* Through the coil, at the flow of the open valve. */
    double transit_s;
    double peak_to_mean;
    double heat_nominal_w;
    double heat_largest_w;
    double least_lpm;
    double open_lpm;
    double stop_lpm;
    /* What the valve's stop has to pass before a fire may be lit. */
    double min_at_stop_lpm;
    /* Flow at one pulse a second. */
    double lpm_s;
    double pulse_timeout_s;
    /* A typed refill window may only shorten the derived one. */
    double window_cap_s;
    double rule13_s;
    double retries;
    double lag_s;
} Water;

/* Strokes are shares of full travel; the curve holds nine flows at strokes 0 to 1. */
typedef struct {
    double stop;
    double travel_s;
    double backlash;
    Curve curve_lpm;
    /* From each flow to the next, for a whole stroke. */
    Slopes slope_lpm;
    /* Where the line from each flow to the next would stand at no stroke. */
    Slopes foot_lpm;
    bool always_open;
} Valve;

/* The valve's PI rule: what is multiplied with the flow, the coil's transit and the lag. */
typedef struct {
    /* Time between two moves. */
    double every_s;
    double gain;
    double gain_slope;
    double reset_transits;
    double reset_lags;
    double dead_band_k;
    double flow_band;
} Throttling;

/* Amperes and volts. */
typedef struct {
    double pump_low_a;
    double pump_high_a;
    double fan_low_a;
    double rated_v;
    /* Longest pump rest of the freeze guard. */
    double rest_s;
    double radiator_on_w_k;
} Power;

/* Which channels exist. One that does not exist feeds no fact. */
typedef struct {
    bool outlet_b;
    bool radiator;
    bool radiator_inlet;
    bool radiator_outlet;
    bool metal;
    bool flue;
    bool room;
    bool line;
    bool switch_;
    bool current;
    bool level;
    bool fan_current;
    bool damper_switch;
    bool co;
    bool smoke;
    bool vent;
    /* People sit in the tank. */
    bool tub;
} Fitted;

/* What readings are held against each other with. Errors are those that the file states. */
typedef struct {
    /* What the hot line loses to the air around it, W/K. */
    double hot_w_k;
    /* That air at its coldest. */
    double hot_air_c;
    /* Of an outlet thermometer and the radiator's inlet together. */
    double line_error_k;
    /* Of an outlet thermometer and the tank's together. */
    double rise_error_k;
    /* A neighbour that has moved by this should have moved a working outlet thermometer. */
    double neighbour_moves_k;
    /* The tank thermometer's own noise moves it through its quantum. */
    bool tank_fidgets;
} Truth;

/* What a filter takes of a new reading in a tick. */
typedef struct {
    double slope;
    double metal;
} Shares;

/* Everything that `decide` knows of the loop. */
typedef struct {
    double tick_s;
    /* Debounce of every interlock row in ticks, as bit planes. */
    Counters thresholds;
    Limits limits;
    Water water;
    Valve valve;
    Throttling throttling;
    Power power;
    Fitted fitted;
    Truth truth;
    Shares shares;
    Reckoned reckoned;
    int64_t checksum;
} Constants;

#endif
