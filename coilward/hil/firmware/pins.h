#ifndef PINS_H
#define PINS_H

#include "converting.h"
#include "types.h"

/* Every number of a tick as the board's own pins have it, by its place (AT_...). */
void pins_read(double numbers[AT_COUNT], const Wiring *wiring, double time_s, double outage_s);

/* Tells all outputs what to do. */
void pins_write(const Commands *commands);

#endif
