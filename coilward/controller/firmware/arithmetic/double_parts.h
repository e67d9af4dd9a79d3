/* The parts of a double: sign, 11 bits of exponent, 52 of fraction under a hidden bit. */
#ifndef DOUBLE_PARTS_H
#define DOUBLE_PARTS_H

#include <stdbool.h>
#include <stdint.h>

#define SIGN UINT64_C(0x8000000000000000)
#define HIDDEN UINT64_C(0x0010000000000000)
#define INFINITE UINT64_C(0x7FF0000000000000)
#define QUIET_NAN UINT64_C(0x7FF8000000000000)
/* The exponent of what is infinite or no number. */
#define TOP 0x7FFU

/* Kept out of the way that is taken nearly always. */
#define RARE __attribute__((noinline, cold))
/* Written out on that way, whatever else calls it. */
#define USUAL inline __attribute__((always_inline))

static inline uint32_t high(uint64_t a)
{
    return (uint32_t)(a >> 32);
}

static inline uint32_t low(uint64_t a)
{
    return (uint32_t)a;
}

static inline uint64_t joined(uint32_t above, uint32_t below)
{
    return ((uint64_t)above << 32) | below;
}

static inline uint64_t times(uint32_t a, uint32_t b)
{
    return (uint64_t)a * b;
}

static inline uint64_t unsigned_of(uint64_t a)
{
    return a & ~SIGN;
}

static inline bool is_nan(uint64_t a)
{
    return unsigned_of(a) > INFINITE;
}

static inline bool is_zero(uint64_t a)
{
    return unsigned_of(a) == 0U;
}

static inline uint32_t exponent_of(uint64_t a)
{
    return (high(a) >> 20) & TOP;
}

static inline uint64_t fraction_of(uint64_t a)
{
    return a & (HIDDEN - 1U);
}

/* Sign and exponent at their places. */
static inline uint64_t raised_by(uint32_t top)
{
    return joined(top << 20, 0U);
}

/* Of a number that is not 0. */
static inline uint32_t leading_zeros(uint64_t a)
{
    return (high(a) != 0U) ? (uint32_t)__builtin_clz(high(a))
        : (32U + (uint32_t)__builtin_clz(low(a)));
}

/* Places by which the highest bit stands under the hidden bit. */
static inline uint32_t places_free(uint64_t a)
{
    return leading_zeros(a) - 11U;
}

/* To nearest: `lost` is what stands below the last bit, as a share of 2^32. */
static inline uint64_t rounded(uint64_t number, uint32_t lost)
{
    if (lost < 0x80000000U) {
        return number;
    }
    return number + (((lost << 1) != 0U) ? 1U : (number & 1U));
}

#endif
