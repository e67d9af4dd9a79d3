#ifndef CLOCKS_H
#define CLOCKS_H

#include <stdbool.h>
#include <stdint.h>

/* Both clocks of the board at the start of a window. */
typedef struct {
    uint32_t ms;
    uint32_t other_ms;
} Clocks;

#define WINDOW_MS 1000
/* One part in so many, and so much more for the grain of both. */
#define CLOCKS_SHARE 20
#define CLOCKS_GRAIN_MS 2

void clocks_begin(Clocks *clocks);
/* False when the clocks have gone apart in a window; call it often. A window ends once either clock
   has gone on by a second, so that one which stands still is found by the other. */
bool clocks_agree(Clocks *clocks);

#endif
