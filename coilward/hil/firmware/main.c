#include "board.h"
#include "logic_side.h"
#include "loop.h"
#include "memory.h"
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

int main(void)
{
    board_start();
    bool bench = board_on_bench();
    if (LOOP_BENCH_ONLY && !bench) {
        refuse();
    }
    logic_side_begin(&side, &LOOP_CONSTANTS, &LOOP_WIRING, PROGRAM, bench);
    if (!bench) {
        running_begin(&running, &side, board_ms());
    }
    for (;;) {
        uint8_t bytes[256];
        size_t count = board_uart_get(bytes, sizeof bytes);
        logic_side_take(&side, bytes, count, board_ms());
        if (bench) {
            logic_side_watch(&side, board_ms());
        } else {
            running_watch(&running, &side, board_ms());
        }
        board_watchdog_kick();
        if (count == 0) {
            board_idle();
        }
    }
}
