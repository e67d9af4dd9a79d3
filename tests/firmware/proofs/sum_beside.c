/* Of any two with different signs and exponents side by side. */
#include "sums.h"

int main(void)
{
    uint64_t a;
    uint64_t b;
    GIVEN(!same_sign(a, b) && (apart(a, b) == 1U));
    CLAIM(sum_is_exact(a, b));
    return 0;
}
