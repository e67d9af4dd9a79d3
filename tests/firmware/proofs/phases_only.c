/* Any facts in any phase lead to a phase of the table, and a fire only where it may. */
#include "claim.h"
#include "phases.h"

int main(void)
{
    int64_t phase;
    uint64_t facts;
    GIVEN(phase >= BOOT && phase <= MAINTENANCE);
    const int64_t next = next_phase(phase, facts);
    CLAIM(next >= BOOT && next <= MAINTENANCE);
    CLAIM(next != BOOT || phase == BOOT);
    if (phase == DRY) {
        CLAIM(next == (((facts & DRY_RESET) != 0U) ? STANDBY : DRY));
    } else if ((facts & COIL_MAY_BE_DRY) != 0U) {
        CLAIM(next == DRY);
    } else if ((facts & ROW_DRY) != 0U && (phase != BOOT || (facts & FIRE_OUT) == 0U)) {
        CLAIM(next == DRY);
    }
    if (next == WARM_UP && phase != WARM_UP) {
        CLAIM(phase == COLD_START || phase == NO_FLOW || phase == BOOT);
        CLAIM(phase != COLD_START || (facts & CHECK_PASSED_AND_LIT) != 0U);
        CLAIM((facts & PERSON_LATCHED) == 0U);
    }
    if (next == RUN && phase != RUN && (facts & PERSON_LATCHED) != 0U) {
        CLAIM(phase == WARM_UP);
    }
    if (next == COLD_START && phase != COLD_START) {
        CLAIM((facts & PREPARE) != 0U && (facts & PERSON_LATCHED) == 0U);
    }
    return 0;
}
