#include "board.h"
#include "logic_side.h"
#include "loop.h"
#include "running.h"

static LogicSide side;
static Running running;

/* True when the watchdog may be kicked. The jumper is read again before a plant's words drive
   outputs: whatever goes wrong, off the bench only whole ticks of the board's own keep it alive. */
static bool whole(void)
{
    if (side.bench && board_on_bench()) {
        logic_side_watch(&side, board_ms());
        return true;
    }
    return running_watch(&running, &side);
}

int main(void)
{
    logic_side_begin(&side, &LOOP_CONSTANTS, &LOOP_WIRING, PROGRAM, board_on_bench());
    if (!side.bench) {
        running_begin(&running, &side, board_outage_s());
    }
    for (;;) {
        uint8_t bytes[256];
        size_t count = board_uart_get(bytes, sizeof bytes);
        logic_side_take(&side, bytes, count, board_ms());
        if (whole()) {
            board_watchdog_kick();
        }
        if (count == 0) {
            board_idle();
        }
    }
}
