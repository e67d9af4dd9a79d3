/* Every operation on many pairs, for a computer that has hardware to compare with. */
#include "doubles.h"

#include <stddef.h>

typedef uint64_t (*Reckoning)(uint64_t a, uint64_t b);
typedef int32_t (*Comparison)(uint64_t a, uint64_t b);

static const Reckoning RECKONINGS[] = {
    __aeabi_dadd, __aeabi_dsub, __aeabi_dmul, __aeabi_ddiv
};
static const Comparison COMPARISONS[] = {
    __aeabi_dcmpeq, __aeabi_dcmplt, __aeabi_dcmple, __aeabi_dcmpge, __aeabi_dcmpgt, __aeabi_dcmpun
};

void reckoned(int which, size_t count, const uint64_t *a, const uint64_t *b, uint64_t *out);
void compared(int which, size_t count, const uint64_t *a, const uint64_t *b, int32_t *out);
void counted(size_t count, const int64_t *whole, uint64_t *out);

void reckoned(int which, size_t count, const uint64_t *a, const uint64_t *b, uint64_t *out)
{
    for (size_t at = 0; at < count; at++) {
        out[at] = RECKONINGS[which](a[at], b[at]);
    }
}

void compared(int which, size_t count, const uint64_t *a, const uint64_t *b, int32_t *out)
{
    for (size_t at = 0; at < count; at++) {
        out[at] = COMPARISONS[which](a[at], b[at]);
    }
}

/* Four conversions of each whole number. */
void counted(size_t count, const int64_t *whole, uint64_t *out)
{
    for (size_t at = 0; at < count; at++) {
        out[4 * at] = __aeabi_l2d(whole[at]);
        out[(4 * at) + 1] = __aeabi_ul2d((uint64_t)whole[at]);
        out[(4 * at) + 2] = __aeabi_i2d((int32_t)whole[at]);
        out[(4 * at) + 3] = __aeabi_ui2d((uint32_t)whole[at]);
    }
}
