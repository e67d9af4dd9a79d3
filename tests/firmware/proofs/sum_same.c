/* Of any two doubles with the same sign. */
#include "sums.h"

int main(void)
{
    uint64_t a;
    uint64_t b;
    GIVEN(same_sign(a, b));
    CLAIM(sum_is_exact(a, b));
    return 0;
}
