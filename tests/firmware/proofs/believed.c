/*
 * What is believed of a reading is a number that can be one, whatever was remembered: an outlet
 * or tank temperature between -30 and 132 degC or none, a good flow between 1 and 500 L/min.
 */
#include "claim.h"
#include "sensing.h"

static bool water(double celsius)
{
    return celsius > LOWEST_C && celsius < (HIGHEST_C + 2.0);
}

int main(void)
{
    Readings readings;
    State state;
    Constants constants;
    Seen seen;
    sense(&readings, state.doubt.suspects, &state.mode, &state.ages, &state.watch, &state.control,
        &constants, &seen);
    CLAIM(seen.outlet_c != seen.outlet_c || water(seen.outlet_c));
    CLAIM(!(seen.outlet_a_ok || seen.outlet_b_ok) || water(seen.outlet_c));
    CLAIM(seen.tank_c != seen.tank_c || water(seen.tank_c));
    CLAIM(!seen.tank_ok || water(seen.tank_c));
    CLAIM(!seen.flow_good || (seen.flow_lpm >= TRUSTED_LPM && seen.flow_lpm <= POSSIBLE_LPM));
    CLAIM(!(seen.flow_good && seen.flow_absent));
    CLAIM(!(seen.current_ok && seen.current_bad));
    return 0;
}
