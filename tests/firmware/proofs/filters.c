/*
 * By induction, what a filter remembers stays between the least and the greatest of what came in,
 * exactly: its step ends between where it stood and what came, and one of the two if not both are
 * numbers. For a tick of at most 1 s and lags of at least 2 s, with real operators in binary16.
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
    _Float16 lag_s;
    _Float16 tick_s;
    GIVEN(slow != slow || within(-MOST, slow, MOST));
    GIVEN(value != value || within(-MOST, value, MOST));
    GIVEN(within(2.0, lag_s, 1000.0) && tick_s > 0.0 && tick_s <= 1.0);
    const _Float16 next = follow(slow, value, lag_s, tick_s);
    if (slow == slow && value == value) {
        CLAIM(within(slow, next, value) || within(value, next, slow));
    } else {
        CLAIM(next == slow || next == value || (next != next && slow != slow && value != value));
    }
    CLAIM(SLOPE_S >= 2.0 && CALM_LAG_S >= 2.0 && RISE_LAG_S >= 2.0 && SECOND_S <= 1.0);
    return 0;
}
