#ifndef SOUND_LOOP_H
#define SOUND_LOOP_H

#include "loop.h"

/* Whether a quarter of these numbers is what was written; 0 to LOOP_QUARTERS - 1. */
bool loop_quarter_sound(const Constants *constants, const Wiring *wiring, int quarter);
/* Whether all of them are. */
bool loop_sound(const Constants *constants, const Wiring *wiring);

#endif
