#include "big.h"
#include "bits.h"
#include "decimal.h"

/* The double nearest to big * 2^exponent; with `more`, big is cut off and a little is missing. */
static uint64_t rounded(const Big *big, int exponent, bool more)
{
    int bits = big_bits(big);
    if (bits == 0) {
        return 0;
    }
    int highest = exponent + bits - 1;
    if (highest > 1023) {
        return INFINITE_BITS;
    }
    int kept = highest >= -1022 ? 53 : highest + 1075;
    if (kept < 0) {
        return 0;
    }
    int cut = bits - kept;
    uint64_t fraction = kept == 0 ? 0 : big_word(big, cut) & (UINT64_MAX >> (64 - kept));
    bool half = cut > 0 && (big_word(big, cut - 1) & 1) != 0;
    bool over = more || big_any_under(big, cut - 1);
    if (half && (over || (fraction & 1) != 0)) {
        fraction++;
    }
    /* A fraction that is rounded up to the next power of two carries into the exponent. */
    uint64_t base = highest >= -1022 ? (uint64_t)(highest + 1022) << 52 : 0;
    return base + fraction;
}

static void multiply_by_5(Big *big, int times)
{
    for (; times >= 6; times -= 6) {
        big_multiply_add(big, 15625, 0);
    }
    for (; times > 0; times--) {
        big_multiply_add(big, 5, 0);
    }
}

/* Whether anything remained. */
static bool divide_by_5(Big *big, int times)
{
    uint32_t rest = 0;
    for (; times >= 6; times -= 6) {
        rest |= big_divide(big, 15625);
    }
    for (; times > 0; times--) {
        rest |= big_divide(big, 5);
    }
    return rest != 0;
}

/* The double nearest to digits * 10^power. */
static uint64_t scaled(Big *digits, int power)
{
    int bits = big_bits(digits);
    if (bits == 0) {
        return 0;
    }
    if (power > 309) {
        return INFINITE_BITS;
    }
    if (power >= 0) {
        multiply_by_5(digits, power);
        return rounded(digits, power, false);
    }
    /* With 40 digits this is under 10^-324 by far. */
    if (power < -364) {
        return 0;
    }
    /* 5^3 < 2^7: so many bits more, and the quotient has 64 or more. */
    int up = 64 + (-power * 7 + 2) / 3 - bits;
    up = up > 0 ? up : 0;
    big_shift_up(digits, up);
    bool more = divide_by_5(digits, -power);
    return rounded(digits, power - up, more);
}

double decimal_read(const char *text, size_t length)
{
    size_t at = 0;
    bool negative = text[at] == '-';
    at += negative ? 1 : 0;
    uint64_t sign = negative ? SIGN_BIT : 0;
    if (text[at] == 'i') {
        return of_bits(sign | INFINITE_BITS);
    }
    Big digits;
    big_set(&digits, 0);
    int power = 0;
    bool fraction = false;
    for (; at < length && text[at] != 'e'; at++) {
        if (text[at] == '.') {
            fraction = true;
            continue;
        }
        big_multiply_add(&digits, 10, (uint32_t)(text[at] - '0'));
        power -= fraction ? 1 : 0;
    }
    int exponent = 0;
    bool down = false;
    for (at++; at < length; at++) {
        if (text[at] == '-') {
            down = true;
        } else if (text[at] != '+') {
            exponent = 10 * exponent + (text[at] - '0');
        }
    }
    power += down ? -exponent : exponent;
    return of_bits(sign | scaled(&digits, power));
}
