/* Whole numbers as doubles. */
#include "doubles.h"
#include "double_parts.h"

uint64_t __aeabi_ul2d(uint64_t whole)
{
    if (whole == 0U) {
        return 0U;
    }
    const uint32_t places = leading_zeros(whole);
    const uint64_t number = whole << places;
    return rounded(raised_by(1085U - places) + (number >> 11), low(number) << 21);
}

uint64_t __aeabi_l2d(int64_t whole)
{
    if (whole < 0) {
        return SIGN | __aeabi_ul2d(0U - (uint64_t)whole);
    }
    return __aeabi_ul2d((uint64_t)whole);
}

uint64_t __aeabi_ui2d(uint32_t whole)
{
    return __aeabi_ul2d(whole);
}

uint64_t __aeabi_i2d(int32_t whole)
{
    return __aeabi_l2d(whole);
}
