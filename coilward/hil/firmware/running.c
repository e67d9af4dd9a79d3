#include "running.h"

#include "bits.h"
#include "board.h"
#include "bytes.h"
#include "crc32.h"
#include "pins.h"

/* A state as it is kept. */
typedef struct {
    State state;
    uint32_t checksum;
    uint32_t constants;
} Kept;

static uint32_t checksum(const State *state)
{
    return crc32_end(crc32_add(CRC32_START, state, sizeof *state));
}

void running_begin(Running *running, LogicSide *side, uint32_t now_ms)
{
    Kept kept;
    uint32_t constants = (uint32_t)side->constants->checksum;
    if (board_load(&kept, sizeof kept) && kept.checksum == checksum(&kept.state)
            && kept.constants == constants) {
        side->state = kept.state;
        coil_restart(&side->state);
    } else {
        /* No phase at all: the logic takes its memory for damaged, and believes in a fire. */
        side->state.mode.phase = -1;
    }
    running->last_ms = now_ms;
    running->time_s = 0.0;
    running->outage_s = board_outage_s();
}

static void keep(const LogicSide *side)
{
    Kept kept;
    clear_bytes(&kept, sizeof kept);
    kept.state = side->state;
    kept.checksum = checksum(&kept.state);
    kept.constants = (uint32_t)side->constants->checksum;
    board_store(&kept, sizeof kept);
}

void running_watch(Running *running, LogicSide *side, uint32_t now_ms)
{
    uint32_t tick_ms = (uint32_t)(1000.0 * side->constants->tick_s + 0.5);
    uint32_t passed_ms = now_ms - running->last_ms;
    if (passed_ms < tick_ms) {
        return;
    }
    /* After a tick that was missed the next is not hurried; the clock tells the logic of it. */
    running->last_ms = passed_ms < 2 * tick_ms ? running->last_ms + tick_ms : now_ms;
    running->time_s += (passed_ms < 2 * tick_ms ? tick_ms : passed_ms) / 1000.0;
    pins_read(side->numbers, side->wiring, running->time_s, running->outage_s);
    logic_side_decide(side);
    keep(side);
}
