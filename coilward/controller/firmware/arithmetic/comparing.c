/* Comparisons. The bits of positive numbers are in the order of the numbers. */
#include "doubles.h"
#include "double_parts.h"

/* Positive, and far from endless: the usual case, which one look at each tells. */
static inline bool usual(uint64_t a)
{
    return high(a) <= 0x7F000000U;
}

/* Whole numbers in the order of all numbers; both zeros are 0. */
static inline int64_t placed(uint64_t a)
{
    return ((a & SIGN) != 0U) ? -(int64_t)unsigned_of(a) : (int64_t)a;
}

static RARE int32_t less(uint64_t a, uint64_t b)
{
    return (!is_nan(a) && !is_nan(b) && (placed(a) < placed(b))) ? 1 : 0;
}

static RARE int32_t at_most(uint64_t a, uint64_t b)
{
    return (!is_nan(a) && !is_nan(b) && (placed(a) <= placed(b))) ? 1 : 0;
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
