#include "big.h"

#include "bits.h"
#include "bytes.h"
#include "decimal.h"

enum { GROUPS = 6, DIGITS = 4 * GROUPS, MOST_DIGITS = 17 };

/* The first digits of a number, 0.ddd * 10^point, and whether anything but 0 follows them. */
typedef struct {
    char digits[DIGITS];
    int point;
    bool more;
} Digits;

/* The first groups of four digits; those after them are only looked at for `more`. */
typedef struct {
    uint32_t groups[GROUPS];
    int count;
    int before; /* groups before the point, less those of zeros after it */
    bool more;
} Grouped;

/* A group after the point, where there is room; zeros before the first other one count only for the
   place of the point. */
static void append(Grouped *grouped, uint32_t group)
{
    if (grouped->count == 0 && group == 0) {
        grouped->before--;
        return;
    }
    grouped->groups[grouped->count++] = group;
}

/* A whole number, from its last group to its first. */
static void group_whole(Grouped *grouped, Big *whole)
{
    for (; whole->count > 0; grouped->before++) {
        uint32_t group = big_divide(whole, 10000);
        if (grouped->count == GROUPS) {
            grouped->more = grouped->more || grouped->groups[GROUPS - 1] != 0;
            grouped->count--;
        }
        for (int place = grouped->count; place > 0; place--) {
            grouped->groups[place] = grouped->groups[place - 1];
        }
        grouped->groups[0] = group;
        grouped->count++;
    }
}

/* fraction / 2^bits, less than 1: four digits at a time come out above the point. */
static void group_fraction(Grouped *grouped, Big *fraction, int bits)
{
    while (fraction->count > 0 && grouped->count < GROUPS) {
        big_multiply_add(fraction, 10000, 0);
        uint32_t group = (uint32_t)big_word(fraction, bits);
        int top = bits / 16;
        if (fraction->count > top) {
            uint32_t under = (UINT32_C(1) << (bits % 16)) - 1;
            fraction->limbs[top] = (uint16_t)(fraction->limbs[top] & under);
            fraction->count = top + 1;
        }
        while (fraction->count > 0 && fraction->limbs[fraction->count - 1] == 0) {
            fraction->count--;
        }
        append(grouped, group);
    }
    grouped->more = grouped->more || fraction->count > 0;
}

static void spread(const Grouped *grouped, Digits *out)
{
    char all[DIGITS];
    for (int place = 0; place < GROUPS; place++) {
        uint32_t group = place < grouped->count ? grouped->groups[place] : 0;
        for (int digit = 3; digit >= 0; digit--) {
            all[4 * place + digit] = (char)('0' + group % 10);
            group /= 10;
        }
    }
    int zeros = 0;
    while (zeros < 3 && all[zeros] == '0') {
        zeros++;
    }
    for (int place = 0; place < DIGITS; place++) {
        out->digits[place] = place + zeros < DIGITS ? all[place + zeros] : '0';
    }
    out->point = 4 * grouped->before - zeros;
    out->more = grouped->more;
}

/* All digits that count of a finite number that is not 0. */
static void expand(uint64_t bits, Digits *out)
{
    int exponent = (int)(bits >> 52);
    uint64_t fraction = bits & (UINT64_MAX >> 12);
    if (exponent > 0) {
        fraction |= UINT64_C(1) << 52;
    } else {
        exponent = 1;
    }
    int power = exponent - 1075;
    Grouped grouped = {.count = 0, .before = 0, .more = false};
    Big big;
    if (power >= 0) {
        big_set(&big, fraction);
        big_shift_up(&big, power);
        group_whole(&grouped, &big);
    } else {
        big_set(&big, power > -64 ? fraction >> -power : 0);
        group_whole(&grouped, &big);
        big_set(&big, power > -64 ? fraction & (UINT64_MAX >> (64 + power)) : fraction);
        group_fraction(&grouped, &big, -power);
    }
    spread(&grouped, out);
}

/* The digits cut off after `count` of them, or the next number of so many digits. */
static Digits cut(const Digits *exact, int count, bool up)
{
    Digits found = {.point = exact->point, .more = false};
    for (int place = 0; place < DIGITS; place++) {
        found.digits[place] = place < count ? exact->digits[place] : '0';
    }
    int place = count - 1;
    while (up && place >= 0 && found.digits[place] == '9') {
        found.digits[place--] = '0';
    }
    if (up && place >= 0) {
        found.digits[place]++;
    } else if (up) {
        found.digits[0] = '1';
        found.point++;
    }
    return found;
}

/* Whether the exact number is nearer to the next number of so many digits than to the cut one. */
static bool nearer_up(const Digits *exact, int count)
{
    char next = exact->digits[count];
    if (next != '5') {
        return next > '5';
    }
    bool more = exact->more;
    for (int place = count + 1; place < DIGITS && !more; place++) {
        more = exact->digits[place] != '0';
    }
    return more || (exact->digits[count - 1] - '0') % 2 != 0;
}

static size_t put_whole(char *text, int value, int least)
{
    char back[4];
    int count = 0;
    for (; value > 0 || count < least; value /= 10) {
        back[count++] = (char)('0' + value % 10);
    }
    for (int place = 0; place < count; place++) {
        text[place] = back[count - 1 - place];
    }
    return (size_t)count;
}

/* As repr does: plain from 1e-4 to less than 1e16, else with an exponent. */
static size_t put(const Digits *shortest, char *text)
{
    int count = MOST_DIGITS;
    while (count > 1 && shortest->digits[count - 1] == '0') {
        count--;
    }
    int point = shortest->point;
    size_t size = 0;
    if (point > 16 || point < -3) {
        text[size++] = shortest->digits[0];
        if (count > 1) {
            text[size++] = '.';
        }
        for (int place = 1; place < count; place++) {
            text[size++] = shortest->digits[place];
        }
        text[size++] = 'e';
        text[size++] = point > 0 ? '+' : '-';
        return size + put_whole(text + size, point > 0 ? point - 1 : 1 - point, 2);
    }
    int last = count > point + 1 ? count : point + 1;
    for (int place = point < 1 ? point - 1 : 0; place < last; place++) {
        if (place == point) {
            text[size++] = '.';
        }
        text[size++] = place >= 0 && place < count ? shortest->digits[place] : '0';
    }
    return size;
}

/* The best number of so many digits that is read as these bits; whether there is one. */
static bool fits(const Digits *exact, int count, uint64_t bits, Digits *found)
{
    bool up = nearer_up(exact, count);
    for (int turn = 0; turn < 2; turn++, up = !up) {
        char text[DECIMAL_LONGEST];
        *found = cut(exact, count, up);
        size_t size = put(found, text);
        if (bits_of(decimal_read(text, size)) == bits) {
            return true;
        }
    }
    return false;
}

size_t decimal_write(double value, char *text)
{
    uint64_t bits = bits_of(value);
    size_t size = 0;
    if ((bits & SIGN_BIT) != 0) {
        text[size++] = '-';
        bits ^= SIGN_BIT;
    }
    if (bits == 0 || bits == INFINITE_BITS) {
        copy_bytes(text + size, bits == 0 ? "0.0" : "inf", 3);
        return size + 3;
    }
    Digits exact;
    Digits shortest;
    expand(bits, &exact);
    /* What fits with some digits fits with more: halve between 1 and 17. */
    int least = 1;
    int most = MOST_DIGITS;
    while (least < most) {
        int middle = (least + most) / 2;
        if (fits(&exact, middle, bits, &shortest)) {
            most = middle;
        } else {
            least = middle + 1;
        }
    }
    (void)fits(&exact, least, bits, &shortest);
    return size + put(&shortest, text + size);
}
