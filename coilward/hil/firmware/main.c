#include "board.h"
#include "logic_side.h"
#include "loop.h"
#include "memory.h"
#include "running.h"

static LogicSide side;
static Running running;

int main(void)
{
    bool bench = board_on_bench();
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
