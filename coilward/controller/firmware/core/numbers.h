/* Made by `python -m coilward.controller.firmware`; don't edit. */
#ifndef NUMBERS_H
#define NUMBERS_H

/* What every file of the core counts with: floats are doubles, masks are unsigned. */
#include <stdbool.h>
#include <stdint.h>

/* A reading that is not known. Every comparison with it is false. */
#define NOT_KNOWN (0.0 / 0.0)
/* A limit that nothing reaches. */
#define NO_LIMIT (1.0 / 0.0)

/* A double as its bits: sign, 11 of an exponent, 52 of a fraction. */
typedef union {
    double number;
    uint64_t bits;
} Double;

/* A number without its sign; what is not known stays so. */
static inline double magnitude(double number)
{
    Double found = {.number = number};
    found.bits &= UINT64_C(0x7fffffffffffffff);
    return found.number;
}

/* What in Python is a number that equals itself. */
static inline bool is_known(double number)
{
    const Double found = {.number = magnitude(number)};
    return found.bits <= UINT64_C(0x7ff0000000000000);
}

/* Neither infinite nor not known. */
static inline bool is_finite(double number)
{
    const Double found = {.number = number};
    return (found.bits & UINT64_C(0x7ff0000000000000)) != UINT64_C(0x7ff0000000000000);
}

#endif
