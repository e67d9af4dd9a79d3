/* What floats.h takes for granted holds of the real operators, whose results are in span. */
#include "numbers.h"
#include "floats.h"

#define SMALLEST 0x1p-1022

/* Whether a result of numbers that aren't zero has neither overflowed nor underflowed. */
static bool in_span(double result)
{
    return a_number(result) && size(result) >= SMALLEST;
}

int main(void)
{
    double x;
    double y;
    const double by = x * y;
    const double over = x / y;
    CLAIM(!(in_span(by) || x == 0.0 || y == 0.0) || product_can_be(x, y, by));
    CLAIM(!(in_span(over) || x == 0.0) || quotient_can_be(x, y, over));
    return 0;
}
