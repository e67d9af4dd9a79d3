/* A tick touches no foreign memory, and computes nothing that C leaves undefined. */
#include "tick.h"

int main(void)
{
    any_tick();
    return 0;
}
