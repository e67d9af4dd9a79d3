#ifndef FRAMES_H
#define FRAMES_H

#include <stddef.h>

#include "messages.h"

/* One line, understood. */
typedef union {
    double number;
    int64_t whole; /* of a flag as well */
    struct {
        const char *text; /* in the line itself, without an end */
        size_t length;
    } word;
} Value;

typedef struct {
    uint16_t session;
    uint8_t message; /* MSG_... */
    int64_t sequence;
    int64_t tick;
    uint32_t known; /* bit n: the message's field n is there */
    Value values[MOST_FIELDS];
} Frame;

/* What a line without its end says; false for any other bytes. A line is refused exactly where
   `decode` of coilward/hil/frames.py refuses it. Words stay in the line. */
bool frame_decode(const char *line, size_t length, Frame *frame);

/* A field as a number; NaN where it was left out, or is a word. */
double frame_number(const Frame *frame, int field);

/* Whether a field is there and is this word. */
bool frame_is(const Frame *frame, int field, const char *word);

#endif
