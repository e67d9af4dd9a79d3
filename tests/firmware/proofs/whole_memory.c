/* The same of the tick as a board calls it, with all its parts, from a state of any bytes. */
#include "claim.h"
#include "coil.h"

int main(void)
{
    Readings readings;
    Requests requests;
    Constants constants;
    State state;
    Commands told;
    coil_decide(&readings, &requests, &state, &told, &constants);
    return 0;
}
