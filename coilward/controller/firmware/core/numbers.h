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

/* A number without its sign; what is not known stays so. */
static inline double magnitude(double number)
{
    return (number <= 0.0) ? (0.0 - number) : number;
}

#endif
