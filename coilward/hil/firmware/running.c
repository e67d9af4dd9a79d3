#include "running.h"

#include "board.h"
#include "bytes.h"
#include "crc32.h"
#include "memory.h"
#include "pins.h"
#include "ram.h"
#include "sound_loop.h"

uint32_t checks_found[CHECK_COUNT];

/* The steps of a tick, in their order. */
enum { SEALED = 1, TIMED, REMEMBERING, NUMBERED, DECIDED, DECIDED_AGAIN, TOLD, KEPT };
#define UNTIL_TOLD UINT32_C(0x123456)
#define WHOLE_TICK UINT32_C(0x12345678)
/* A second tick that was missed within so many is one too many. */
enum { LATE_TICKS = 40 };
/* A dead board has its outputs from the hardware within two seconds: this, and the step in which it
   died. */
#define WATCHDOG_MS 1800

/* What is kept: the state first. */
typedef struct {
    State state;
    Commands outputs;
    uint32_t digest;
    uint32_t constants;
    uint32_t found[CHECK_COUNT];
} Kept;

static void sign(Running *running, uint32_t step)
{
    running->flow = running->flow << 4 | step;
}

/* ---- what is sealed between two ticks ---------------------------------------------------- */

static uint32_t seal_of(const Running *running, const LogicSide *side)
{
    uint32_t crc = crc32_add(CRC32_START, &running->progress, sizeof running->progress);
    return crc32_end(crc32_add(crc, side, offsetof(LogicSide, state)));
}

static bool sealed(const Running *running, const LogicSide *side)
{
    return running->seal == seal_of(running, side)
        && running->progress.digest == memory_digest(&side->state, &side->outputs);
}

static void keep(const Running *running, const LogicSide *side)
{
    Kept kept;
    clear_bytes(&kept, sizeof kept);
    kept.state = side->state;
    kept.outputs = side->outputs;
    kept.digest = running->progress.digest;
    kept.constants = (uint32_t)side->constants->checksum;
    copy_bytes(kept.found, checks_found, sizeof kept.found);
    board_store(&kept, sizeof kept);
}

/* Outputs that their digest does not vouch for are left as they are. */
static void stop(const Running *running, const LogicSide *side, int check)
{
    const Progress *progress = &running->progress;
    checks_found[check]++;
    if (progress->decided && progress->digest == memory_digest(&side->state, &side->outputs)) {
        Commands safe = safe_commands(&side->outputs);
        pins_write(&safe);
        keep(running, side);
    }
    for (;;) {
        board_idle();
    }
}

/* ---- starting ---------------------------------------------------------------------------- */

/* Damaged numbers are replaced by their copy; the logic hears of it, and ends the fire. */
static void choose_loop(Running *running, LogicSide *side)
{
    bool sound = loop_sound(&LOOP_CONSTANTS, &LOOP_WIRING);
    bool spare = !sound && loop_sound(&SPARE_CONSTANTS, &SPARE_WIRING);
    running->progress.loop_sound = sound;
    side->constants = spare ? &SPARE_CONSTANTS : &LOOP_CONSTANTS;
    side->wiring = spare ? &SPARE_WIRING : &LOOP_WIRING;
    checks_found[CHECK_CONSTANTS] += sound ? 0 : 1;
}

static void seal(Running *running, const LogicSide *side)
{
    running->progress.digest = memory_digest(&side->state, &side->outputs);
    running->seal = seal_of(running, side);
}

void running_begin(Running *running, LogicSide *side, double outage_s)
{
    Kept kept;
    logic_side_begin(side, &LOOP_CONSTANTS, &LOOP_WIRING, PROGRAM, false);
    clear_bytes(running, sizeof *running);
    choose_loop(running, side);
    bool found = board_load(&kept, sizeof kept)
        && kept.digest == memory_digest(&kept.state, &kept.outputs)
        && kept.constants == (uint32_t)side->constants->checksum;
    if (found) {
        side->state = kept.state;
        coil_restart(&side->state);
        for (int check = 0; check < CHECK_COUNT; check++) {
            if (checks_found[check] < kept.found[check]) {
                checks_found[check] = kept.found[check];
            }
        }
    } else {
        /* No phase at all: the logic takes its memory for damaged, and believes in a fire. */
        side->state.mode.phase = -1;
    }
    running->progress.tick_ms = (uint32_t)(1000.0 * side->constants->tick_s + 0.5);
    running->progress.last_ms = board_ms();
    running->progress.outage_s = outage_s;
    stack_mark();
    clocks_begin(&running->clocks);
    seal(running, side);
}

/* ---- the steps of a tick ----------------------------------------------------------------- */

static void pass_time(Running *running, const LogicSide *side, uint32_t now_ms)
{
    Progress *progress = &running->progress;
    uint32_t tick_ms = progress->tick_ms;
    uint32_t passed_ms = now_ms - progress->last_ms;
    bool missed = passed_ms >= 2 * tick_ms;
    progress->late += missed ? LATE_TICKS : 0;
    progress->late -= !missed && progress->late > 0 ? 1 : 0;
    if (passed_ms > WATCHDOG_MS || progress->late > LATE_TICKS) {
        stop(running, side, CHECK_FLOW);
    }
    /* After a tick that was missed the next is not hurried; the clock tells the logic of it. */
    progress->last_ms = missed ? now_ms : progress->last_ms + tick_ms;
    progress->time_s += (missed ? passed_ms : tick_ms) / 1000.0;
    sign(running, TIMED);
}

static void try_memory(Running *running, const LogicSide *side)
{
    if (!stack_kept()) {
        stop(running, side, CHECK_STACK);
    }
    if (!ram_follows(&running->ram)) {
        stop(running, side, CHECK_RAM);
    }
    sign(running, REMEMBERING);
}

static void look_at_loop(Running *running, LogicSide *side)
{
    running->quarter = (running->quarter + 1) % LOOP_QUARTERS;
    if (!loop_quarter_sound(side->constants, side->wiring, (int)running->quarter)) {
        choose_loop(running, side);
    }
    sign(running, NUMBERED);
}

/* The whole way from the pins to the next state; gives its digest. */
static uint32_t decide(Running *running, LogicSide *side, uint32_t step)
{
    const Progress *progress = &running->progress;
    pins_read(side->numbers, side->wiring, progress->time_s, progress->outage_s);
    if (!progress->loop_sound) {
        side->numbers[AT_CONSTANTS_OK] = 0.0;
    }
    Readings readings = convert(side->numbers, side->wiring);
    Requests requests = requests_in(side->numbers);
    running->next = side->state;
    coil_decide(&readings, &requests, &running->next, &running->outputs, side->constants);
    sign(running, step);
    return memory_digest(&running->next, &running->outputs);
}

static void decide_twice(Running *running, LogicSide *side)
{
    board_sample();
    uint32_t once = decide(running, side, DECIDED);
    uint32_t again = decide(running, side, DECIDED_AGAIN);
    if (once != again) {
        stop(running, side, CHECK_DECISION);
    }
    if (running->flow != UNTIL_TOLD) {
        stop(running, side, CHECK_FLOW);
    }
    pins_write(&running->outputs);
    side->state = running->next;
    side->outputs = running->outputs;
    running->progress.decided = true;
    running->progress.digest = again;
    running->seal = seal_of(running, side);
    sign(running, TOLD);
}

bool running_watch(Running *running, LogicSide *side)
{
    uint32_t now_ms = board_ms();
    if (!clocks_agree(&running->clocks)) {
        stop(running, side, CHECK_CLOCK);
    }
    if (now_ms - running->progress.last_ms < running->progress.tick_ms) {
        return false;
    }
    running->flow = 0;
    if (!sealed(running, side)) {
        checks_found[CHECK_STATE]++;
        running_begin(running, side, 0.0);
        return false;
    }
    sign(running, SEALED);
    pass_time(running, side, now_ms);
    try_memory(running, side);
    look_at_loop(running, side);
    decide_twice(running, side);
    keep(running, side);
    sign(running, KEPT);
    return running->flow == WHOLE_TICK;
}
