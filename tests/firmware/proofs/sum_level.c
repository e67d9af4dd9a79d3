/* Of any two with different signs and the same exponent: the highest bits are lost. */
#include "sums.h"

int main(void)
{
    uint64_t a;
    uint64_t b;
    GIVEN(!same_sign(a, b) && (apart(a, b) == 0U));
    CLAIM(sum_is_exact(a, b));
    return 0;
}
