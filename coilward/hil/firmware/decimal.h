#ifndef DECIMAL_H
#define DECIMAL_H

#include <stddef.h>

/* The double nearest to a decimal number, ties to even; too large is infinite, too small is 0.
   The text is one that a line may carry: at most 40 bytes of
   -?(inf|digits(.digits)?(e[+-]?digits)?), at most 3 digits of exponent. Nothing is checked. */
double decimal_read(const char *text, size_t length);

/* The shortest decimal number that is read as this double, as Python's repr writes it: at most
   DECIMAL_LONGEST bytes, without an end; gives their number. The value is not a NaN. */
enum { DECIMAL_LONGEST = 25 };
size_t decimal_write(double value, char *text);

#endif
