/*
 * By induction, what a filter remembers stays between the least and the greatest of what came in,
 * exactly: its step ends between where it stood and what came, and one of the two if not both are
 * numbers. For a filter that takes up to half of what comes in, with real operators in binary16.
 */
#include "claim.h"
#include "doubting.h"
#include "sensing.h"

#define MOST 16384.0

static bool within(_Float16 low, _Float16 x, _Float16 high)
{
    return x >= low && x <= high;
}

int main(void)
{
    _Float16 slow;
    _Float16 value;
    _Float16 share;
    GIVEN(slow != slow || within(-MOST, slow, MOST));
    GIVEN(value != value || within(-MOST, value, MOST));
    GIVEN(share > 0.0 && share <= 0.5);
    const _Float16 next = follow(slow, value, share);
    if (slow == slow && value == value) {
        CLAIM(within(slow, next, value) || within(value, next, slow));
    } else {
        CLAIM(next == slow || next == value || (next != next && slow != slow && value != value));
    }
    CLAIM(CALM_SHARE > 0.0 && CALM_SHARE <= 0.5 && RISE_SHARE > 0.0 && RISE_SHARE <= 0.5);
    return 0;
}
