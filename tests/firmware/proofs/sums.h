/* The firmware's sum of two doubles, beside the one of IEEE 754. */
#ifndef SUMS_H
#define SUMS_H

#include "claim.h"
#include "doubles.h"
#include "numbers.h"

/* To the last bit; what is not a number may have any bits. A difference calls the sum. */
static bool sum_is_exact(uint64_t a, uint64_t b)
{
    const Double first = {.bits = a};
    const Double second = {.bits = b};
    const Double sum = {.number = first.number + second.number};
    const Double ours = {.bits = __aeabi_dsub(a, b ^ UINT64_C(0x8000000000000000))};
    return is_known(sum.number) ? (ours.bits == sum.bits) : !is_known(ours.number);
}

static bool same_sign(uint64_t a, uint64_t b)
{
    return ((a ^ b) >> 63) == 0U;
}

/* How far their exponents are apart. */
static uint32_t apart(uint64_t a, uint64_t b)
{
    const uint32_t first = (uint32_t)((a >> 52) & 0x7FFU);
    const uint32_t second = (uint32_t)((b >> 52) & 0x7FFU);
    return (first > second) ? (first - second) : (second - first);
}

#endif
