/* Sum and difference: the smaller number is moved to the places of the larger. */
#include "doubles.h"
#include "double_parts.h"

/* The first is infinite or none, or both are. */
static RARE uint64_t endless_sum(uint64_t a, uint64_t b)
{
    return (is_nan(a) || is_nan(b) || (b == (a ^ SIGN))) ? QUIET_NAN : a;
}

/* Neither has a hidden bit: the bits add up by themselves. */
static RARE uint64_t tiny_sum(uint64_t a, uint64_t b)
{
    if (((a ^ b) & SIGN) == 0U) {
        return a + unsigned_of(b);
    }
    if (unsigned_of(a) < unsigned_of(b)) {
        return b - unsigned_of(a);
    }
    return (b == (a ^ SIGN)) ? 0U : (a - unsigned_of(b));
}

/* A difference that has lost its highest bits, to the places of sign and exponent `top`. */
static inline uint64_t raised(uint32_t top, uint64_t number, uint32_t lost)
{
    const uint32_t room = (top & TOP) - 1U;
    if (room == 0U) {
        return (number == 0U) ? 0U : (raised_by(top - 1U) + number);
    }
    const uint64_t twice = (number << 1) | (lost >> 31);
    if (twice >= HIDDEN) {
        return rounded(raised_by(top - 2U) + twice, lost << 1);
    }
    /* More than one place is free only where at most one bit was lost. */
    if (twice == 0U) {
        return 0U;
    }
    const uint32_t needed = places_free(twice);
    const uint32_t places = (needed < room) ? needed : (room - 1U);
    return raised_by(top - places - 2U) + (twice << places);
}

/* Under zero, which only numbers of the same places can lead to. */
static RARE uint64_t turned(uint32_t top, uint64_t number)
{
    return raised(top ^ (TOP + 1U), 0U - number, 0U);
}

/* The exponent of the first is not the smaller one. */
static uint64_t sum(uint64_t larger, uint64_t smaller)
{
    if (exponent_of(larger) == TOP) {
        return endless_sum(larger, smaller);
    }
    uint32_t places = exponent_of(larger) - exponent_of(smaller);
    uint32_t above = high(smaller) & 0xFFFFFU;
    if (exponent_of(smaller) != 0U) {
        above |= 0x100000U;
    } else if (places == 0U) {
        return tiny_sum(larger, smaller);
    } else if (is_zero(smaller)) {
        return larger;
    } else {
        places--;
    }
    uint32_t below = low(smaller);
    uint32_t lost = 0U;
    if (places == 0U) {
        /* They have the same places. */
    } else if (places < 32U) {
        lost = below << (32U - places);
        below = (below >> places) | (above << (32U - places));
        above >>= places;
    } else if (places < 64U) {
        const uint32_t more = places - 32U;
        lost = (below >> more) | ((above << 1) << (31U - more));
        lost |= (((below << 1) << (31U - more)) != 0U) ? 1U : 0U;
        below = above >> more;
        above = 0U;
    } else {
        lost = 1U;
        below = 0U;
        above = 0U;
    }
    /* With sign and exponent still on: a carry counts the exponent up, a borrow down. */
    uint64_t total;
    if (((larger ^ smaller) & SIGN) == 0U) {
        total = larger + joined(above, below);
        if (((high(total) ^ high(larger)) >> 20) != 0U) {
            const uint64_t next = raised_by((high(larger) >> 20) + 1U);
            if (exponent_of(next) == TOP) {
                return next;
            }
            lost = (lost >> 1) | (lost & 1U) | (low(total) << 31);
            total = next + ((total - next) >> 1);
        }
    } else {
        const uint64_t from = joined(low(larger), 0U);
        const uint64_t off = joined(below, lost);
        total = joined(high(larger) - above - ((from < off) ? 1U : 0U), high(from - off));
        lost = low(from - off);
        if (((high(total) ^ high(larger)) >> 20) != 0U) {
            const uint32_t top = high(larger) >> 20;
            const uint64_t number = total - raised_by(top - 1U);
            if ((number & SIGN) != 0U) {
                return turned(top, number);
            }
            return raised(top, number, lost);
        }
    }
    return rounded(total, lost);
}

uint64_t __aeabi_dadd(uint64_t a, uint64_t b)
{
    if ((high(a) << 1) < (high(b) << 1)) {
        return sum(b, a);
    }
    return sum(a, b);
}

uint64_t __aeabi_dsub(uint64_t a, uint64_t b)
{
    return __aeabi_dadd(a, b ^ SIGN);
}
