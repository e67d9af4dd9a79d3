#ifndef MEMORY_H
#define MEMORY_H

#include "frames.h"
#include "state.h"
#include "types.h"

/* Where a number of a structure is, and what it is (KIND_... of messages.h). */
typedef struct {
    uint16_t offset;
    uint8_t kind;
} Member;

/* A CRC-32 goes on over one number of a structure, in eight bytes. */
uint32_t memory_add(uint32_t crc, const void *base, const Member *member);

/* The commands of which only a state is told: all of them 0. */
extern const Commands NOTHING;

/* Puts the fields of a line of a memory (MSG_SET_...) into a state. */
void memory_take(State *state, const Frame *frame);

/* CRC-32 over a state and the commands that came with it, as `digest` of coilward/hil/tick.py
   has it: equal bits, equal digest. */
uint32_t memory_digest(const State *state, const Commands *commands);

#endif
