#ifndef RING_H
#define RING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { RING = 1024 };

/* Bytes on their way between a wire and the program. What finds no room is lost. */
typedef struct {
    uint8_t bytes[RING];
    uint16_t from;
    uint16_t to;
} Ring;

static inline bool ring_empty(const Ring *ring) { return ring->from == ring->to; }

static inline void ring_put(Ring *ring, uint8_t byte)
{
    uint16_t next = (uint16_t)((ring->to + 1U) % RING);
    if (next != ring->from) {
        ring->bytes[ring->to] = byte;
        ring->to = next;
    }
}

/* Of a ring that is not empty. */
static inline uint8_t ring_get(Ring *ring)
{
    uint8_t byte = ring->bytes[ring->from];
    ring->from = (uint16_t)((ring->from + 1U) % RING);
    return byte;
}

#endif
