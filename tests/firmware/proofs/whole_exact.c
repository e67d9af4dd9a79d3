/* Whole numbers of every kind become the double that is nearest. */
#include "claim.h"
#include "doubles.h"
#include "numbers.h"

int main(void)
{
    uint64_t whole;
    const Double wide = {.number = (double)whole};
    const Double with_sign = {.number = (double)(int64_t)whole};
    const Double narrow = {.number = (double)(uint32_t)whole};
    const Double short_sign = {.number = (double)(int32_t)(uint32_t)whole};
    CLAIM(__aeabi_ul2d(whole) == wide.bits);
    CLAIM(__aeabi_l2d((int64_t)whole) == with_sign.bits);
    CLAIM(__aeabi_ui2d((uint32_t)whole) == narrow.bits);
    CLAIM(__aeabi_i2d((int32_t)(uint32_t)whole) == short_sign.bits);
    return 0;
}
