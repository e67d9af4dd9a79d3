/*
 * Every row of the cause-and-effect table that counts has its effects in the commands.
 *
 * rows.h is written from the rows themselves, not from the masks that the logic reads. Where rows
 * oppose each other the highest tier has its way, in one tier the stronger effect; a hold beats all.
 */
#include "rows.h"
#include "tick.h"

/* The effect on one actuator that has its way: the strongest of the highest tier, 0 for none. */
static int strongest(const int effects[ROW_COUNT], uint64_t active)
{
    int best = 0;
    int tier = -1;
    for (int row = 0; row < ROW_COUNT; row++) {
        if (((active >> row) & 1U) == 0U || effects[row] == 0) {
            continue;
        }
        if (TABLE_TIER[row] > tier || (TABLE_TIER[row] == tier && effects[row] > best)) {
            tier = TABLE_TIER[row];
            best = effects[row];
        }
    }
    return best;
}

static int loudest(uint64_t active)
{
    int horn = 0;
    for (int row = 0; row < ROW_COUNT; row++) {
        if (((active >> row) & 1U) != 0U && TABLE_HORN[row] > horn) {
            horn = TABLE_HORN[row];
        }
    }
    return horn;
}

int main(void)
{
    Tick tick = any_tick();
    const Commands told = tick.told;
    const Mode mode = tick.after.mode;
    const bool fire = mode.fire != NO;
    const uint64_t active = tick.after.raised | (fire ? mode.latched : 0U);

    const int pump = strongest(TABLE_PUMP, active);
    const bool retrying = mode.phase == NO_FLOW && tick.after.control.retry_off_s > 0.0;
    const bool opened_up = mode.phase == MAINTENANCE && !fire;
    CLAIM(pump != TABLE_PUMP_OFF || !told.pump);
    CLAIM(pump != TABLE_PUMP_ON || told.pump || mode.dry || retrying || opened_up);

    const int valve = strongest(TABLE_VALVE, active);
    CLAIM(valve != TABLE_VALVE_HOLD || told.valve == held_stroke(&tick));
    CLAIM(valve != TABLE_VALVE_OPEN || told.valve == 1.0 || mode.phase == DRY);

    const int fans = strongest(TABLE_FANS, active);
    CLAIM(fans != TABLE_FANS_FULL || told.fans == 1.0);
    CLAIM(fans != TABLE_FANS_HALF || told.fans >= 0.5);
    CLAIM(fans != TABLE_FANS_OFF || told.fans == 0.0);

    CLAIM(strongest(TABLE_DAMPER, active) == 0 || !told.damper_open);

    const int dump = strongest(TABLE_DUMP, active);
    CLAIM(dump != TABLE_DUMP_HOLD || (told.dump_open != 0) == (tick.before.control.dump_open != 0));
    CLAIM(dump != TABLE_DUMP_OPEN || told.dump_open || mode.phase == DRY);

    const bool may_be_silent = tick.requests.silence || tick.before.watch.silence_s > 0.0;
    CLAIM(told.horn >= loudest(active) || (may_be_silent && told.horn == 0));
    return 0;
}
