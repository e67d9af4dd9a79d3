#ifndef BYTES_H
#define BYTES_H

#include <stdbool.h>
#include <stddef.h>

/* The few of <string.h> that are needed: a small board's compiler may come without one. */
static inline size_t text_length(const char *text)
{
    size_t length = 0;
    while (text[length] != '\0') {
        length++;
    }
    return length;
}

static inline bool same_bytes(const char *one, const char *other, size_t count)
{
    size_t place = 0;
    while (place < count && one[place] == other[place]) {
        place++;
    }
    return place == count;
}

static inline void copy_bytes(void *to, const void *from, size_t count)
{
    for (size_t place = 0; place < count; place++) {
        ((char *)to)[place] = ((const char *)from)[place];
    }
}

static inline void clear_bytes(void *at, size_t count)
{
    for (size_t place = 0; place < count; place++) {
        ((char *)at)[place] = 0;
    }
}

#endif
