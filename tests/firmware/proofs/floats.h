/*
 * Products and quotients as "any result at all" but for a contract; copying.py puts them in.
 *
 * Where nothing overflows or underflows, a result of numbers is a number with the sign that it
 * should have, and a factor of at least 1 makes a number no smaller. contract_floats.c proves it
 * of the real operators.
 */
#ifndef FLOATS_H
#define FLOATS_H

#include "claim.h"

/* Taken for granted: the constants' ranges keep every result far from both ends of a double. */
#define LARGEST 1e100

static bool a_number(double x)
{
    return x - x == 0.0;
}

static double size(double x)
{
    return (x < 0.0) ? -x : x;
}

static bool product_can_be(double x, double y, double result)
{
    if (!a_number(x) || !a_number(y)) {
        return true;
    }
    if (x == 0.0 || y == 0.0) {
        return result == 0.0;
    }
    return a_number(result) && result != 0.0
        && (result < 0.0) == ((x < 0.0) != (y < 0.0))
        && (x < 1.0 || y < 0.0 || result >= y);
}

static bool quotient_can_be(double x, double y, double result)
{
    if (!a_number(x) || !a_number(y) || y == 0.0) {
        return true;
    }
    return a_number(result) && (result == 0.0) == (x == 0.0)
        && (x == 0.0 || (result < 0.0) == ((x < 0.0) != (y < 0.0)));
}

static inline double product(double x, double y)
{
    double result;
    GIVEN(product_can_be(x, y, result) && !(size(result) > LARGEST));
    return result;
}

static inline double quotient(double x, double y)
{
    double result;
    GIVEN(quotient_can_be(x, y, result) && !(size(result) > LARGEST));
    return result;
}

#endif
