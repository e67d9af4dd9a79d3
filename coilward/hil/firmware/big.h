#ifndef BIG_H
#define BIG_H

#include <stdbool.h>
#include <stdint.h>

/* A whole number of up to BIG_LIMBS * 16 bits, least limb first. A limb times a factor of 16 bits
   fits into the 32-bit registers of any small board, so no long division is ever called.

   1,152 bits hold all that reading and printing need: what is divided by 5^364 has 914, the largest
   double 1,024, and the fraction of the smallest 1,074 and 14 more for the next four digits. */
enum { BIG_LIMBS = 72, BIG_BITS = 16 * BIG_LIMBS };

typedef struct {
    uint16_t limbs[BIG_LIMBS];
    int count; /* limbs in use; the highest of them is not 0 */
} Big;

void big_set(Big *big, uint64_t value);
/* big * factor + addend; factor and addend are less than 65,536. What finds no room is lost. */
void big_multiply_add(Big *big, uint32_t factor, uint32_t addend);
/* big / divisor, and what remains; 0 < divisor < 65,536. */
uint32_t big_divide(Big *big, uint32_t divisor);
/* big * 2^bits. What finds no room is lost. */
void big_shift_up(Big *big, int bits);
int big_bits(const Big *big);
/* Bits from..from+63, as a number; bits under 0 are 0. */
uint64_t big_word(const Big *big, int from);
/* Whether any bit under this one is set. */
bool big_any_under(const Big *big, int bit);

#endif
