#include "sound_loop.h"

#include "crc32.h"

bool loop_quarter_sound(const Constants *constants, const Wiring *wiring, int quarter)
{
    int begin = quarter * LOOP_MEMBERS / LOOP_QUARTERS;
    int end = (quarter + 1) * LOOP_MEMBERS / LOOP_QUARTERS;
    uint32_t crc = CRC32_START;
    for (int place = begin; place < end; place++) {
        const LoopMember *row = &LOOP_MEMBER[place];
        const void *base = row->wired ? (const void *)wiring : (const void *)constants;
        crc = memory_add(crc, base, &row->member);
    }
    return crc32_end(crc) == LOOP_CRC[quarter];
}

bool loop_sound(const Constants *constants, const Wiring *wiring)
{
    bool sound = true;
    for (int quarter = 0; quarter < LOOP_QUARTERS; quarter++) {
        sound = loop_quarter_sound(constants, wiring, quarter) && sound;
    }
    return sound;
}
