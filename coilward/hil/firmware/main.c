#include "board.h"
#include "logic_side.h"
#include "loop.h"
#include "running.h"

static LogicSide side;
static Running running;

/* The loop must not be lit, and the bench's jumper is not in: nothing is moved, the horn sounds. */
static void refuse(void)
{
    board_lamp(false);
    board_horn(HORN_CONTINUOUS_TOLD);
    for (;;) {
        board_watchdog_kick();
        board_idle();
    }
}

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
    board_start();
    if (LOOP_BENCH_ONLY && !board_on_bench()) {
        refuse();
    }
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
