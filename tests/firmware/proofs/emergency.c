/*
 * The emergency button never stops water: if the pump runs without it, it runs with it.
 *
 * Two ticks from one memory that differ in the button alone. The debounce is any function of one
 * row's cause at a time, as contract_debounce.c shows that it is.
 */
#include "tick.h"

static uint64_t long_enough;

void count(uint64_t present, const Counters *counters, Counters *out)
{
    Counters any;
    *out = any;
}

uint64_t reached(uint64_t present, const Counters *counters, const Counters *thresholds)
{
    return present & long_enough;
}

int main(void)
{
    Readings readings;
    Requests calm;
    Constants constants;
    State before;
    Decision without;
    Decision with;
    uint64_t lasted;
    any_parts();
    long_enough = lasted;
    GIVEN(wholes_sound(&before));
    calm.emergency = false;
    Requests pressed = calm;
    pressed.emergency = true;
    decided(&readings, &calm, &before, &constants, &without);
    decided(&readings, &pressed, &before, &constants, &with);
    CLAIM(!without.commands.pump || with.commands.pump);
    return 0;
}
