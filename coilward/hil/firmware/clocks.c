#include "clocks.h"

#include "board.h"

void clocks_begin(Clocks *clocks)
{
    clocks->ms = board_ms();
    clocks->other_ms = board_other_ms();
}

bool clocks_agree(Clocks *clocks)
{
    uint32_t one_ms = board_ms() - clocks->ms;
    uint32_t other_ms = board_other_ms() - clocks->other_ms;
    uint32_t longer_ms = one_ms > other_ms ? one_ms : other_ms;
    uint32_t shorter_ms = one_ms > other_ms ? other_ms : one_ms;
    if (longer_ms < WINDOW_MS) {
        return true;
    }
    clocks->ms += one_ms;
    clocks->other_ms += other_ms;
    return longer_ms - shorter_ms <= longer_ms / CLOCKS_SHARE + CLOCKS_GRAIN_MS;
}
