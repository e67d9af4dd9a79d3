/* A whole tick reads and writes only where it may, and computes nothing that C leaves undefined. */
#include "whole.h"

int main(void)
{
    any_whole_tick();
    return 0;
}
