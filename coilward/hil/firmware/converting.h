#ifndef CONVERTING_H
#define CONVERTING_H

#include "messages.h"
#include "types.h"

/* How one thermometer's readings are made. */
enum { AS_SENT, CORRECTED, THERMISTOR };

typedef struct {
    uint8_t kind;
    double a; /* gain, or Steinhart and Hart's a */
    double b; /* zero in K, or b */
    double c;
} Thermometer;

/* What one loop's readings are made with: made by coilward/hil/firmware/wiring.py. */
typedef struct {
    double pulses_per_l;
    Thermometer thermometers[THERMOMETER_COUNT];
} Wiring;

/* What the logic reads, from the numbers of a tick by their places (AT_...); NaN is not known.
   The same sums in the same order as in coilward/hil/converting.py. */
Readings convert(const double numbers[AT_COUNT], const Wiring *wiring);

/* What is asked for in a tick. */
Requests requests_in(const double numbers[AT_COUNT]);

#endif
