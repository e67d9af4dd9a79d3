#ifndef BITS_H
#define BITS_H

#include <stdint.h>

/* The 64 bits of an IEEE 754 double: sign, 11 bits of exponent, 52 of fraction. */
typedef union {
    double value;
    uint64_t bits;
} Punned;

static inline uint64_t bits_of(double value)
{
    Punned punned = {.value = value};
    return punned.bits;
}

static inline double of_bits(uint64_t bits)
{
    Punned punned = {.bits = bits};
    return punned.value;
}

#define SIGN_BIT (UINT64_C(1) << 63)
#define INFINITE_BITS (UINT64_C(0x7FF) << 52)
#define NAN_BITS (UINT64_C(0x7FF8) << 48)

#endif
