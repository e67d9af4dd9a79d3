#include "logic_side.h"

#include "bits.h"
#include "board.h"
#include "bytes.h"
#include "memory.h"
#include "pins.h"

enum { ALL_TICK = (1 << TICK_PARTS) - 1, ALL_MEMORY = (1 << MEMORY_PARTS) - 1 };
enum { LAST_PART = TICK_FIRST + TICK_PARTS - 1 };

void logic_side_begin(LogicSide *side, const Constants *constants, const Wiring *wiring,
    const char *program, bool bench)
{
    clear_bytes(side, sizeof *side);
    side->constants = constants;
    side->wiring = wiring;
    side->program = program;
    side->bench = bench;
    coil_first(&side->state, constants);
}

void logic_side_decide(LogicSide *side)
{
    Readings readings = convert(side->numbers, side->wiring);
    Requests requests = requests_in(side->numbers);
    coil_decide(&readings, &requests, &side->state, &side->outputs, side->constants);
    pins_write(&side->outputs);
}

/* ---- what is sent ------------------------------------------------------------------------ */

static void begin(LogicSide *side, int message, int64_t tick)
{
    writer_begin(&side->writer, (uint16_t)side->opened, message, side->sent, tick);
}

static void send(LogicSide *side)
{
    writer_end(&side->writer);
    side->sent++;
    board_uart_put((const uint8_t *)side->writer.bytes, side->writer.count);
}

static void say_refuse(LogicSide *side, const char *reason)
{
    begin(side, MSG_REFUSE, 0);
    writer_word(&side->writer, REFUSE_REASON, reason);
    send(side);
}

static void say_again(LogicSide *side)
{
    begin(side, MSG_AGAIN, side->frame.tick);
    writer_whole(&side->writer, AGAIN_PARTS, ALL_TICK & ~(int64_t)side->parts);
    send(side);
}

static void say_hello(LogicSide *side, int64_t opened)
{
    Writer *writer = &side->writer;
    begin(side, MSG_HELLO, 0);
    writer_word(writer, HELLO_TABLE, WIRE_TABLE);
    writer_word(writer, HELLO_SIDE, "logic");
    writer_whole(writer, HELLO_OPENED, opened);
    writer_whole(writer, HELLO_CONSTANTS, side->constants->checksum);
    writer_float(writer, HELLO_TICK_S, side->constants->tick_s);
    writer_word(writer, HELLO_PROGRAM, side->program);
    writer_float(writer, HELLO_OUTLET_MOST_C, side->constants->limits.outlet_hh_c);
    writer_float(writer, HELLO_TANK_MOST_C, side->constants->limits.tank_hh_c);
    send(side);
}

static void say_answer(LogicSide *side)
{
    const Answer *answer = &side->answer;
    const Commands *commands = &answer->commands;
    Writer *writer = &side->writer;
    begin(side, MSG_COMMANDS, side->tick);
#define FLOAT(member, told, silent) writer_float(writer, told, commands->member);
#define WHOLE(member, told, silent) writer_whole(writer, told, commands->member);
    COMMAND_MEMBERS(FLOAT, WHOLE, WHOLE)
#undef FLOAT
#undef WHOLE
    send(side);
    begin(side, MSG_DECIDED, side->tick);
    writer_whole(writer, DECIDED_PHASE, answer->phase);
    writer_whole(writer, DECIDED_FIRE, answer->fire);
    writer_whole(writer, DECIDED_COIL, answer->coil);
    writer_whole(writer, DECIDED_RAISED, (int64_t)answer->raised);
    writer_whole(writer, DECIDED_LATCHED, (int64_t)answer->latched);
    writer_whole(writer, DECIDED_FIRST_OUT, answer->first_out);
    writer_whole(writer, DECIDED_DIGEST, answer->digest);
    writer_whole(writer, DECIDED_SILENT, answer->silent);
    send(side);
}

static void say_done(LogicSide *side)
{
    begin(side, MSG_DONE, side->frame.tick);
    writer_whole(&side->writer, DONE_COUNT, side->restarts);
    writer_whole(&side->writer, DONE_DIGEST, memory_digest(&side->state, &NOTHING));
    send(side);
}

static void say_silent(LogicSide *side)
{
    Writer *writer = &side->writer;
    const Commands *commands = &side->outputs;
    begin(side, MSG_SILENT, side->tick);
    writer_whole(writer, SILENT_COUNT, side->dead_man.count);
#define FLOAT(member, told, silent) writer_float(writer, silent, commands->member);
#define WHOLE(member, told, silent) writer_whole(writer, silent, commands->member);
    COMMAND_MEMBERS(FLOAT, WHOLE, WHOLE)
#undef FLOAT
#undef WHOLE
    send(side);
}

/* ---- what is heard ----------------------------------------------------------------------- */

/* Why a greeting is refused; NULL where it is not. Off the bench there may be a fire, and then
   nobody else's plant is played. */
static const char *refusal(const LogicSide *side, const Frame *frame)
{
    if (!frame_is(frame, HELLO_TABLE, WIRE_TABLE)) {
        return "other-table";
    }
    if (frame_is(frame, HELLO_SIDE, "logic")) {
        return "same-side";
    }
    if (frame_number(frame, HELLO_TICK_S) != side->constants->tick_s) {
        return "other-tick";
    }
    return side->bench ? NULL : "no-bench";
}

static void greet(LogicSide *side)
{
    const char *reason = refusal(side, &side->frame);
    int64_t opened = side->frame.values[HELLO_OPENED].whole;
    bool known = side->greeted && side->opened == opened;
    side->opened = 0;
    side->greeted = reason == NULL;
    if (reason != NULL) {
        say_refuse(side, reason);
        return;
    }
    say_hello(side, opened);
    side->opened = opened;
    if (!known) {
        side->gathers = false;
        side->decided = false;
        side->restarts = 0;
        dead_man_begin(&side->dead_man);
    }
}

static void decide_tick(LogicSide *side)
{
    const Mode *mode = &side->state.mode;
    logic_side_decide(side);
    side->tick = side->gathered;
    side->gathers = false;
    side->decided = true;
    side->answer = (Answer){
        .commands = side->outputs, .phase = mode->phase, .fire = mode->fire, .coil = mode->coil,
        .raised = side->state.raised, .latched = mode->latched, .first_out = mode->first_out,
        .digest = memory_digest(&side->state, &side->outputs), .silent = side->dead_man.count,
    };
    say_answer(side);
}

static void take_part(LogicSide *side)
{
    const Frame *frame = &side->frame;
    if (side->decided && frame->tick <= side->tick) {
        if (frame->tick == side->tick && frame->message == LAST_PART) {
            say_answer(side);
        }
        return;
    }
    if (side->gathers && frame->tick < side->gathered) {
        return;
    }
    if (!side->gathers || frame->tick > side->gathered) {
        side->gathers = true;
        side->gathered = frame->tick;
        side->parts = 0;
    }
    const Message *message = &MESSAGES[frame->message];
    for (int field = 0; field < message->count; field++) {
        side->numbers[message->first + field] = frame_number(frame, field);
    }
    side->parts |= UINT32_C(1) << (frame->message - TICK_FIRST);
    if (side->parts == ALL_TICK) {
        decide_tick(side);
    } else if (frame->message == LAST_PART) {
        say_again(side);
    }
}

static void take_memory(LogicSide *side)
{
    if (side->decided) {
        return;
    }
    memory_take(&side->memory, &side->frame);
    side->memory_parts |= UINT32_C(1) << (side->frame.message - MEMORY_FIRST);
    if (side->memory_parts == ALL_MEMORY) {
        side->memory_parts = 0;
        side->state = side->memory;
        say_done(side);
    }
}

static void restart(LogicSide *side)
{
    if (side->frame.values[RESTART_COUNT].whole > side->restarts) {
        side->restarts++;
        coil_restart(&side->state);
    }
    say_done(side);
}

static void hear(LogicSide *side, uint32_t now_ms)
{
    int message = side->frame.message;
    if (message == MSG_HELLO) {
        greet(side);
        return;
    }
    if (!side->greeted || side->frame.session != side->opened) {
        return;
    }
    dead_man_heard(&side->dead_man, now_ms);
    bool remembers = message >= MEMORY_FIRST && message < MEMORY_FIRST + MEMORY_PARTS;
    if (message >= TICK_FIRST && message <= LAST_PART) {
        take_part(side);
    } else if (remembers) {
        take_memory(side);
    } else if (message == MSG_RESTART) {
        restart(side);
    }
}

void logic_side_take(LogicSide *side, const uint8_t *bytes, size_t count, uint32_t now_ms)
{
    for (size_t place = 0; place < count; place++) {
        if (lines_take(&side->lines, (char)bytes[place], &side->frame)) {
            hear(side, now_ms);
        }
    }
}

void logic_side_watch(LogicSide *side, uint32_t now_ms)
{
    if (side->decided && dead_man_acts(&side->dead_man, now_ms)) {
        side->outputs = safe_commands(&side->outputs);
        pins_write(&side->outputs);
        say_silent(side);
    }
}
