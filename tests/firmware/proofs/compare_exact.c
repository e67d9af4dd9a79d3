/* The firmware's comparisons are those of IEEE 754 doubles, of any two. */
#include "claim.h"
#include "doubles.h"
#include "numbers.h"

int main(void)
{
    uint64_t any_a;
    uint64_t any_b;
    const Double a = {.bits = any_a};
    const Double b = {.bits = any_b};
    CLAIM(__aeabi_dcmpeq(a.bits, b.bits) == ((a.number == b.number) ? 1 : 0));
    CLAIM(__aeabi_dcmplt(a.bits, b.bits) == ((a.number < b.number) ? 1 : 0));
    CLAIM(__aeabi_dcmple(a.bits, b.bits) == ((a.number <= b.number) ? 1 : 0));
    CLAIM(__aeabi_dcmpge(a.bits, b.bits) == ((a.number >= b.number) ? 1 : 0));
    CLAIM(__aeabi_dcmpgt(a.bits, b.bits) == ((a.number > b.number) ? 1 : 0));
    const bool unknown = (a.number != a.number) || (b.number != b.number);
    CLAIM(__aeabi_dcmpun(a.bits, b.bits) == (unknown ? 1 : 0));
    CLAIM(is_known(a.number) == (a.number == a.number));
    CLAIM(is_finite(a.number) == ((a.number - a.number) == 0.0));
    CLAIM((a.number <= 0.0) ? (magnitude(a.number) == -a.number) : true);
    CLAIM((a.number > 0.0) ? (magnitude(a.number) == a.number) : true);
    CLAIM(is_known(magnitude(a.number)) == is_known(a.number));
    return 0;
}
