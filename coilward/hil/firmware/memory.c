#include "memory.h"

#include "bits.h"
#include "bytes.h"
#include "crc32.h"

const Commands NOTHING = {.pump = false};

#define FLOAT(member) {offsetof(State, member), KIND_FLOAT},
#define WHOLE(member) {offsetof(State, member), KIND_WHOLE},
#define FLAG(member) {offsetof(State, member), KIND_FLAG},
/* In the order in which they are sent. */
static const Member MEMBERS[STATE_FIELDS] = {STATE_MEMBERS(FLOAT, WHOLE, FLAG)};
#undef FLOAT
#undef WHOLE
#undef FLAG

void memory_take(State *state, const Frame *frame)
{
    const Message *message = &MESSAGES[frame->message];
    for (int field = 0; field < message->count; field++) {
        const Member *member = &MEMBERS[message->first + field];
        char *at = (char *)state + member->offset;
        if (member->kind == KIND_FLOAT) {
            double value = frame_number(frame, field);
            copy_bytes(at, &value, sizeof value);
        } else if (member->kind == KIND_FLAG) {
            bool value = frame->values[field].whole != 0;
            copy_bytes(at, &value, sizeof value);
        } else {
            copy_bytes(at, &frame->values[field].whole, sizeof(int64_t));
        }
    }
}

/* Eight bytes, the lowest first. */
static uint32_t add(uint32_t crc, uint64_t bits)
{
    uint8_t bytes[8];
    for (int place = 0; place < 8; place++) {
        bytes[place] = (uint8_t)(bits >> (8 * place));
    }
    return crc32_add(crc, bytes, sizeof bytes);
}

/* Every NaN counts as the same one: machines differ in the sign that they give it. */
static uint32_t add_float(uint32_t crc, double value)
{
    return add(crc, value == value ? bits_of(value) : NAN_BITS);
}

/* Of a flag the whole byte: one that is damaged may be neither true nor false. */
uint32_t memory_add(uint32_t crc, const void *base, const Member *member)
{
    const uint8_t *at = (const uint8_t *)base + member->offset;
    if (member->kind == KIND_FLAG) {
        return add(crc, *at);
    }
    uint64_t bits;
    copy_bytes(&bits, at, sizeof bits);
    return member->kind == KIND_FLOAT ? add_float(crc, of_bits(bits)) : add(crc, bits);
}

static uint32_t add_members(uint32_t crc, const State *state, bool floats)
{
    for (int place = 0; place < STATE_FIELDS; place++) {
        if ((MEMBERS[place].kind == KIND_FLOAT) == floats) {
            crc = memory_add(crc, state, &MEMBERS[place]);
        }
    }
    return crc;
}

uint32_t memory_digest(const State *state, const Commands *commands)
{
    uint32_t crc = add_members(CRC32_START, state, true);
#define NONE(member, told, silent)
#define FLOAT(member, told, silent) crc = add_float(crc, commands->member);
    COMMAND_MEMBERS(FLOAT, NONE, NONE)
#undef FLOAT
    crc = add_members(crc, state, false);
#define WHOLE(member, told, silent) crc = add(crc, (uint64_t)commands->member);
    COMMAND_MEMBERS(NONE, WHOLE, WHOLE)
#undef WHOLE
#undef NONE
    return crc32_end(crc);
}
