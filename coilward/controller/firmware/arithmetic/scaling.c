/* Product and quotient: exponents and fractions go their own ways. */
#include "doubles.h"
#include "double_parts.h"

static inline bool is_plain(uint64_t a)
{
    return (exponent_of(a) - 1U) < (TOP - 1U);
}

/* Exponent and fraction; that of a number under the least exponent is moved under the hidden bit. */
typedef struct {
    int32_t exponent;
    uint64_t number;
} Apart;

static inline Apart apart(uint64_t a)
{
    Apart found = {(int32_t)exponent_of(a), fraction_of(a) | HIDDEN};
    if (found.exponent == 0) {
        const uint32_t places = places_free(fraction_of(a));
        found.exponent = 1 - (int32_t)places;
        found.number = fraction_of(a) << places;
    }
    return found;
}

/* A result over the largest exponent, or under the least. */
static RARE uint64_t beyond(uint64_t sign, int32_t exponent, uint64_t number, uint32_t lost)
{
    if (exponent >= 0) {
        return sign | INFINITE;
    }
    const uint32_t places = (uint32_t)-exponent;
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
    if ((uint32_t)exponent >= (TOP - 1U)) {
        return beyond(sign, exponent, number, lost);
    }
    return rounded(sign + raised_by((uint32_t)exponent) + number, lost);
}

/* From two fractions under their hidden bits, and an exponent that is one less than their sum's. */
static USUAL uint64_t product(uint64_t sign, int32_t exponent, uint64_t a, uint64_t b)
{
    /* 54 bits and 63 give 117, or one less; the lower 64 of them are lost. */
    const uint64_t first = a << 1;
    const uint64_t second = b << 10;
    const uint64_t lowest = times(low(first), low(second));
    const uint64_t middle = times(high(first), low(second)) + high(lowest)
        + times(low(first), high(second));
    const uint64_t number = times(high(first), high(second)) + high(middle);
    const uint32_t lost = low(middle) | ((low(lowest) != 0U) ? 1U : 0U);
    if (number < HIDDEN) {
        return packed(sign, exponent - 1, (number << 1) | (lost >> 31), lost << 1);
    }
    return packed(sign, exponent, number, lost);
}

/* A factor is infinite, or none, or under the least exponent. */
static RARE uint64_t odd_product(uint64_t a, uint64_t b)
{
    const uint64_t sign = (a ^ b) & SIGN;
    if (is_nan(a) || is_nan(b)) {
        return QUIET_NAN;
    }
    if ((exponent_of(a) == TOP) || (exponent_of(b) == TOP)) {
        return (is_zero(a) || is_zero(b)) ? QUIET_NAN : (sign | INFINITE);
    }
    if (is_zero(a) || is_zero(b)) {
        return sign;
    }
    const Apart one = apart(a);
    const Apart other = apart(b);
    return product(sign, (one.exponent + other.exponent) - 1023, one.number, other.number);
}

uint64_t __aeabi_dmul(uint64_t a, uint64_t b)
{
    if (!is_plain(a) || !is_plain(b)) {
        return odd_product(a, b);
    }
    return product(
        (a ^ b) & SIGN, ((int32_t)exponent_of(a) + (int32_t)exponent_of(b)) - 1023,
        fraction_of(a) | HIDDEN, fraction_of(b) | HIDDEN
    );
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

/* As a product. */
static USUAL uint64_t quotient(uint64_t sign, int32_t exponent, uint64_t a, uint64_t divisor)
{
    /* Twenty digits a step, never too large, and too small by so little that the rest stays under
       1.1 of the divisor; at first it is under twice the divisor. */
    const uint32_t by = inverse(high(divisor << 11));
    uint64_t rest = a;
    uint64_t number = 0U;
    for (int32_t step = 0; step < 3; step++) {
        const uint32_t digits = high(times((uint32_t)(rest >> 22), by)) >> 10;
        rest = (rest << 20) - (digits * divisor);
        number = (number << 20) + digits;
    }
    /* One more counts only where it carries into the bit that rounds. */
    if (((low(number) & 0x3FU) == 0x3FU) && (rest >= divisor)) {
        rest -= divisor;
        number++;
    }
    const uint32_t more = (rest != 0U) ? 1U : 0U;
    if (number < (HIDDEN << 8)) {
        return packed(sign, exponent - 1, number >> 7, (low(number) << 25) | more);
    }
    return packed(sign, exponent, number >> 8, (low(number) << 24) | more);
}

/* One of both is infinite, or none, or under the least exponent. */
static RARE uint64_t odd_quotient(uint64_t a, uint64_t b)
{
    const uint64_t sign = (a ^ b) & SIGN;
    if (is_nan(a) || is_nan(b) || (is_zero(a) && is_zero(b))) {
        return QUIET_NAN;
    }
    if (exponent_of(a) == TOP) {
        return (exponent_of(b) == TOP) ? QUIET_NAN : (sign | INFINITE);
    }
    if (is_zero(b)) {
        return sign | INFINITE;
    }
    if (is_zero(a) || (exponent_of(b) == TOP)) {
        return sign;
    }
    const Apart one = apart(a);
    const Apart other = apart(b);
    return quotient(sign, (one.exponent - other.exponent) + 1022, one.number, other.number);
}

uint64_t __aeabi_ddiv(uint64_t a, uint64_t b)
{
    if (!is_plain(a) || !is_plain(b)) {
        return odd_quotient(a, b);
    }
    return quotient(
        (a ^ b) & SIGN, ((int32_t)exponent_of(a) - (int32_t)exponent_of(b)) + 1022,
        fraction_of(a) | HIDDEN, fraction_of(b) | HIDDEN
    );
}
