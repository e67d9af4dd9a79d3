#include "big.h"

static void trim(Big *big)
{
    while (big->count > 0 && big->limbs[big->count - 1] == 0) {
        big->count--;
    }
}

void big_set(Big *big, uint64_t value)
{
    for (big->count = 0; value != 0; value >>= 16) {
        big->limbs[big->count++] = (uint16_t)(value & 0xFFFF);
    }
}

void big_multiply_add(Big *big, uint32_t factor, uint32_t addend)
{
    uint32_t carry = addend;
    for (int place = 0; place < big->count; place++) {
        carry += big->limbs[place] * factor;
        big->limbs[place] = (uint16_t)(carry & 0xFFFF);
        carry >>= 16;
    }
    if (carry != 0 && big->count < BIG_LIMBS) {
        big->limbs[big->count++] = (uint16_t)carry;
    }
}

uint32_t big_divide(Big *big, uint32_t divisor)
{
    uint32_t rest = 0;
    for (int place = big->count - 1; place >= 0; place--) {
        uint32_t part = (rest << 16) | big->limbs[place];
        uint32_t quotient = part / divisor;
        rest = part - quotient * divisor;
        big->limbs[place] = (uint16_t)quotient;
    }
    trim(big);
    return rest;
}

void big_shift_up(Big *big, int bits)
{
    big_multiply_add(big, UINT32_C(1) << (bits % 16), 0);
    int by = bits / 16;
    int count = big->count + by < BIG_LIMBS ? big->count + by : BIG_LIMBS;
    for (int place = count - 1; place >= 0; place--) {
        big->limbs[place] = place >= by ? big->limbs[place - by] : 0;
    }
    big->count = big->count > 0 ? count : 0;
}

int big_bits(const Big *big)
{
    if (big->count == 0) {
        return 0;
    }
    int bits = 16 * (big->count - 1);
    for (uint32_t top = big->limbs[big->count - 1]; top != 0; top >>= 1) {
        bits++;
    }
    return bits;
}

static uint32_t limb(const Big *big, int place)
{
    return place >= 0 && place < big->count ? big->limbs[place] : 0;
}

uint64_t big_word(const Big *big, int from)
{
    int place = (from + BIG_BITS) / 16 - BIG_LIMBS;
    int shift = (from + BIG_BITS) % 16;
    uint64_t word = (uint64_t)limb(big, place) >> shift;
    for (int step = 1; step <= 4; step++) {
        int up = 16 * step - shift;
        if (up < 64) {
            word |= (uint64_t)limb(big, place + step) << up;
        }
    }
    return word;
}

bool big_any_under(const Big *big, int bit)
{
    for (int place = 0; place < big->count && 16 * place < bit; place++) {
        uint32_t mask = bit - 16 * place >= 16 ? 0xFFFF : (UINT32_C(1) << (bit - 16 * place)) - 1;
        if ((big->limbs[place] & mask) != 0) {
            return true;
        }
    }
    return false;
}
