/* Comparisons. The bits of positive numbers are in the order of the numbers. */
#include "doubles.h"
#include "double_parts.h"

/* The size of what is infinite. */
#define ENDLESS 0xFFE00000U

/* Positive, and far from endless: the usual case, which one look at each tells. */
static inline bool usual(uint64_t a)
{
    return high(a) <= 0x7F000000U;
}

/* In the order of the numbers without their signs; 0 for a zero, and over ENDLESS for no number. */
static inline uint32_t size_of(uint64_t a)
{
    return (high(a) << 1) + ((low(a) != 0U) ? 1U : 0U);
}

static inline bool is_number(uint64_t a)
{
    return size_of(a) <= ENDLESS;
}

static inline bool is_negative(uint64_t a)
{
    return (high(a) >> 31) != 0U;
}

/* Of two that are not usual. A negative number is less than all that has smaller bits. */
static RARE int32_t far_less(uint64_t a, uint64_t b)
{
    if (!is_number(a) || !is_number(b)) {
        return 0;
    }
    if (is_negative(a)) {
        return (b < a) ? 1 : 0;
    }
    return ((int64_t)a < (int64_t)b) ? 1 : 0;
}

/* What is not usual is negative, the other zero too, or over all that is, or no number. */
static RARE int32_t less(uint64_t a, uint64_t b)
{
    if (usual(b)) {
        if (!is_negative(a) || !is_number(a)) {
            return 0;
        }
        return ((size_of(a) | high(b) | low(b)) != 0U) ? 1 : 0;
    }
    if (usual(a)) {
        return (!is_negative(b) && is_number(b)) ? 1 : 0;
    }
    return far_less(a, b);
}

static RARE int32_t at_most(uint64_t a, uint64_t b)
{
    if (usual(b)) {
        return (is_negative(a) && is_number(a)) ? 1 : 0;
    }
    if (usual(a)) {
        if (is_negative(b)) {
            return ((size_of(b) | high(a) | low(a)) == 0U) ? 1 : 0;
        }
        return is_number(b) ? 1 : 0;
    }
    if (a == b) {
        return is_number(a) ? 1 : 0;
    }
    return far_less(a, b);
}

int32_t __aeabi_dcmplt(uint64_t a, uint64_t b)
{
    if (usual(a) && usual(b)) {
        return (a < b) ? 1 : 0;
    }
    return less(a, b);
}

int32_t __aeabi_dcmple(uint64_t a, uint64_t b)
{
    if (usual(a) && usual(b)) {
        return (a <= b) ? 1 : 0;
    }
    return at_most(a, b);
}

int32_t __aeabi_dcmpge(uint64_t a, uint64_t b)
{
    if (usual(a) && usual(b)) {
        return (b <= a) ? 1 : 0;
    }
    return at_most(b, a);
}

int32_t __aeabi_dcmpgt(uint64_t a, uint64_t b)
{
    if (usual(a) && usual(b)) {
        return (b < a) ? 1 : 0;
    }
    return less(b, a);
}

int32_t __aeabi_dcmpeq(uint64_t a, uint64_t b)
{
    if (a == b) {
        return is_nan(a) ? 0 : 1;
    }
    return is_zero(a | b) ? 1 : 0;
}

int32_t __aeabi_dcmpun(uint64_t a, uint64_t b)
{
    return (is_nan(a) || is_nan(b)) ? 1 : 0;
}
