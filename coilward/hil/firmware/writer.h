#ifndef WRITER_H
#define WRITER_H

#include <stddef.h>

#include "messages.h"

/* One line as it is written. Fields are written in any order; each at most once. */
typedef struct {
    char bytes[LONGEST_SENT];
    size_t count;
    const Message *message;
} Writer;

void writer_begin(Writer *writer, uint16_t session, int message, uint32_t sequence, int64_t tick);
/* A NaN is not known, and is left out. */
void writer_float(Writer *writer, int field, double value);
void writer_whole(Writer *writer, int field, int64_t value);
/* A word of at most 40 letters, digits, points, plus and minus signs. */
void writer_word(Writer *writer, int field, const char *word);
/* Adds checksum and end; `bytes` and `count` are the line then. */
void writer_end(Writer *writer);

#endif
