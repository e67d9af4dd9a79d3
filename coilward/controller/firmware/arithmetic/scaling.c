/* Product and quotient: exponents and fractions go their own ways. */
#include "doubles.h"
#include "double_parts.h"

static inline bool is_plain(uint64_t a)
{
    return (exponent_of(a) - 1U) < (TOP - 1U);
}

/* A result under the least exponent, by as many places. */
static RARE uint64_t lowered(uint64_t sign, uint64_t number, uint32_t lost, uint32_t places)
{
    if (places > 53U) {
        return sign;
    }
    const uint32_t up = 64U - places;
    const uint64_t out = number << up;
    const uint32_t more = ((low(out) | lost) != 0U) ? 1U : 0U;
    return rounded(sign | (number >> places), high(out) | more);
}

/* A fraction under its hidden bit, and an exponent that is one less than its own. */
static inline uint64_t packed(uint64_t sign, int32_t exponent, uint64_t number, uint32_t lost)
{
    if (exponent >= 0x7FE) {
        return sign | INFINITE;
    }
    if (exponent < 0) {
        return lowered(sign, number, lost, (uint32_t)-exponent);
    }
    return rounded(sign + raised_by((uint32_t)exponent) + number, lost);
}

/* A factor is infinite, or none. */
static RARE uint64_t endless_product(uint64_t a, uint64_t b)
{
    if (is_nan(a)) {
        return a | QUIET_NAN;
    }
    if (is_nan(b)) {
        return b | QUIET_NAN;
    }
    return (is_zero(a) || is_zero(b)) ? QUIET_NAN : (((a ^ b) & SIGN) | INFINITE);
}

uint64_t __aeabi_dmul(uint64_t a, uint64_t b)
{
    const uint64_t sign = (a ^ b) & SIGN;
    int32_t exponent = ((int32_t)exponent_of(a) + (int32_t)exponent_of(b)) - 1023;
    uint64_t first = fraction_of(a) | HIDDEN;
    uint64_t second = fraction_of(b) | HIDDEN;
    if (!is_plain(a) || !is_plain(b)) {
        if ((exponent_of(a) == TOP) || (exponent_of(b) == TOP)) {
            return endless_product(a, b);
        }
        if (is_zero(a) || is_zero(b)) {
            return sign;
        }
        if (exponent_of(a) == 0U) {
            const uint32_t places = places_free(fraction_of(a));
            first = fraction_of(a) << places;
            exponent += 1 - (int32_t)places;
        }
        if (exponent_of(b) == 0U) {
            const uint32_t places = places_free(fraction_of(b));
            second = fraction_of(b) << places;
            exponent += 1 - (int32_t)places;
        }
    }
    /* 53 bits and 64 give 117, or one less; the lower 64 of them are lost. */
    second <<= 11;
    const uint64_t lowest = times(low(first), low(second));
    const uint64_t middle = times(high(first), low(second)) + high(lowest);
    const uint64_t other = times(low(first), high(second)) + low(middle);
    uint64_t number = times(high(first), high(second)) + high(middle) + high(other);
    uint32_t lost = low(other) | ((low(lowest) != 0U) ? 1U : 0U);
    if (number < HIDDEN) {
        number = (number << 1) | (lost >> 31);
        lost <<= 1;
        exponent--;
    }
    return packed(sign, exponent, number, lost);
}

/* One of both is infinite, or none, or a zero. */
static RARE uint64_t odd_quotient(uint64_t a, uint64_t b)
{
    if (is_nan(a)) {
        return a | QUIET_NAN;
    }
    if (is_nan(b)) {
        return b | QUIET_NAN;
    }
    const bool endless = exponent_of(a) == TOP;
    if ((endless && (exponent_of(b) == TOP)) || (is_zero(a) && is_zero(b))) {
        return QUIET_NAN;
    }
    return ((a ^ b) & SIGN) | ((endless || is_zero(b)) ? INFINITE : 0U);
}

/*
 * 2^63 over a number of 32 bits, of which the highest is set: as much at most, even if the number
 * has a fraction that isn't seen here, and less by no more than a share of 2^-27. One division
 * gives 15 bits; one step of Newton's method doubles them.
 */
static inline uint32_t inverse(uint32_t number)
{
    const uint32_t rough = (0xFFFFFFFFU / (number >> 16)) << 15;
    const uint32_t about_half = high(times(rough, number));
    return (uint32_t)(times(rough, ~about_half) >> 31) - 2U;
}

uint64_t __aeabi_ddiv(uint64_t a, uint64_t b)
{
    const uint64_t sign = (a ^ b) & SIGN;
    int32_t exponent = ((int32_t)exponent_of(a) - (int32_t)exponent_of(b)) + 1022;
    uint64_t rest = fraction_of(a) | HIDDEN;
    uint64_t divisor = fraction_of(b) | HIDDEN;
    if (!is_plain(a) || !is_plain(b)) {
        if ((exponent_of(a) == TOP) || (exponent_of(b) == TOP) || is_zero(a) || is_zero(b)) {
            return odd_quotient(a, b);
        }
        if (exponent_of(a) == 0U) {
            const uint32_t places = places_free(fraction_of(a));
            rest = fraction_of(a) << places;
            exponent += 1 - (int32_t)places;
        }
        if (exponent_of(b) == 0U) {
            const uint32_t places = places_free(fraction_of(b));
            divisor = fraction_of(b) << places;
            exponent += (int32_t)places - 1;
        }
    }
    if (rest < divisor) {
        rest <<= 1;
        exponent--;
    }
    /* Twenty digits a step, never too large, and too small by so little that the rest stays under
       1.1 of the divisor. */
    const uint32_t by = inverse(high(divisor << 11));
    uint64_t number = 0U;
    for (int32_t step = 0; step < 3; step++) {
        const uint32_t digits = high(times((uint32_t)(rest >> 22), by)) >> 10;
        rest = (rest << 20) - (digits * divisor);
        number = (number << 20) + digits;
    }
    if (rest >= divisor) {
        rest -= divisor;
        number++;
    }
    const uint32_t lost = (low(number) << 24) | ((rest != 0U) ? 1U : 0U);
    return packed(sign, exponent, number >> 8, lost);
}
