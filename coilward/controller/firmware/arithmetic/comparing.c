/* Comparisons. The bits of positive numbers are in the order of the numbers. */
#include "doubles.h"
#include "double_parts.h"

/* Positive, and far from endless: the usual case, which one look at each tells. */
static inline bool usual(uint64_t a)
{
    return high(a) <= 0x7F000000U;
}

/* Of two negative numbers the one with the larger bits is less; zeros are the same number. */
static RARE int32_t less(uint64_t a, uint64_t b)
{
    if (is_nan(a) || is_nan(b)) {
        return 0;
    }
    if ((a & b & SIGN) != 0U) {
        return (b < a) ? 1 : 0;
    }
    return (((int64_t)a < (int64_t)b) && !is_zero(a | b)) ? 1 : 0;
}

static RARE int32_t at_most(uint64_t a, uint64_t b)
{
    return (is_nan(a) || is_nan(b) || (less(b, a) != 0)) ? 0 : 1;
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
