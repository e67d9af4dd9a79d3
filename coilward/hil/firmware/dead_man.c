#include "dead_man.h"

#include "messages.h"

void dead_man_begin(DeadMan *man)
{
    man->count = 0;
    man->heard_ms = 0;
    man->waits = false;
}

void dead_man_heard(DeadMan *man, uint32_t now_ms)
{
    man->heard_ms = now_ms;
    man->waits = true;
}

bool dead_man_acts(DeadMan *man, uint32_t now_ms)
{
    if (!man->waits || now_ms - man->heard_ms < SILENT_MS) {
        return false;
    }
    man->count++;
    man->waits = false;
    return true;
}

Commands safe_commands(const Commands *last)
{
    Commands safe = *last;
    safe.valve = last->pump ? 1.0 : last->valve;
    safe.fans = 1.0;
    safe.damper_open = false;
    safe.dump_open = last->dump_open || last->pump;
    safe.horn = HORN_CONTINUOUS_TOLD;
    safe.may_light = false;
    return safe;
}
