#include "converting.h"

#include "bits.h"

#define ZERO_K 273.15
#define HALF_ROOT 0.7071067811865476
#define LN_2 0.6931471805599453

/* The natural logarithm of a normal positive number: sum for sum that of
   coilward/measuring/logarithm.py. */
static double natural_log(double value)
{
    uint64_t bits = bits_of(value);
    int power = (int)(bits >> 52) - 1022;
    double share = of_bits((bits & (UINT64_MAX >> 12)) | (UINT64_C(1022) << 52));
    if (share < HALF_ROOT) {
        share = 2.0 * share;
        power = power - 1;
    }
    double slope = (share - 1.0) / (share + 1.0);
    double square = slope * slope;
    double series = 0.0;
    for (int odd = 21; odd >= 3; odd -= 2) {
        series = square * (1.0 / (double)odd + series);
    }
    return (double)power * LN_2 + 2.0 * slope * (1.0 + series);
}

static double degrees(const Thermometer *fitted, double sent_c, double sent_ohm)
{
    if (fitted->kind == THERMISTOR) {
        if (!(sent_ohm >= LEAST_OHM && sent_ohm <= MOST_OHM)) {
            return NOT_KNOWN;
        }
        double log = natural_log(sent_ohm);
        return 1.0 / (fitted->a + fitted->b * log + fitted->c * (log * log * log)) - ZERO_K;
    }
    return fitted->kind == CORRECTED ? fitted->a * sent_c + fitted->b : sent_c;
}

Readings convert(const double numbers[AT_COUNT], const Wiring *wiring)
{
    Readings readings;
#define SAME(member, place) readings.member = numbers[place];
    SAME_READINGS(SAME)
#undef SAME
#define THERMOMETER(row, member, in_c, in_ohm) \
    readings.member = degrees(&wiring->thermometers[row], numbers[in_c], numbers[in_ohm]);
    THERMOMETERS(THERMOMETER)
#undef THERMOMETER
    double period_s = numbers[AT_PULSE_PERIOD_S];
    readings.flow_lpm = period_s > 0.0 ? 60.0 / (wiring->pulses_per_l * period_s) : NOT_KNOWN;
    return readings;
}

Requests requests_in(const double numbers[AT_COUNT])
{
    Requests requests;
#define REQUEST(member, place) requests.member = numbers[place] == 1.0;
    REQUEST_MEMBERS(REQUEST)
#undef REQUEST
    return requests;
}
