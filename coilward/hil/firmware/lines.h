#ifndef LINES_H
#define LINES_H

#include "frames.h"

/* Bytes in, frames out. Holds one line's length of what is not yet a line, and never more. */
typedef struct {
    char bytes[LONGEST_LINE];
    size_t count;
    uint32_t good;
    uint32_t bad; /* lines, or stretches without an end, that were not understood */
} Lines;

/* The next byte; true where it ends a line that was understood. The frame's words stay sound
   until the next byte. */
bool lines_take(Lines *lines, char byte, Frame *frame);

#endif
